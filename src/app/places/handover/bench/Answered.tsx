/** What was measured last of an item, what was before, and the way to measure it again. */
import { useState, type ReactNode } from 'react';
import type { CheckState } from '../../../../handover/bench/checklist.ts';
import type { BenchRecord, Measurement } from '../../../../handover/bench/record-schema.ts';
import { CheckForm } from './CheckForm.tsx';
import { dayAndTime, measuredWords, STATE_WORDS } from './words.ts';

interface AnsweredProps {
  readonly check: CheckState;
  readonly answer: Measurement;
  readonly record: BenchRecord;
}

export function Answered({ check: { item, state, before }, answer, record }: AnsweredProps): ReactNode {
  const [again, setAgain] = useState(false);
  return (
    <>
      <p className="check-answer">
        <b className="check-state">{STATE_WORDS[state]}</b> <span>{measuredWords(answer)}</span>{' '}
        <span className="dim small">
          {answer.by}, {dayAndTime(answer.at)}
          {before[0] && `; before: ${STATE_WORDS[before[0].verdict]}, ${measuredWords(before[0])}`}
        </span>
        <button type="button" className="button plain" aria-expanded={again} onClick={() => setAgain((open) => !open)}>
          Measure again<span className="unseen"> {item.title}</span>
        </button>
      </p>
      {state === 'not-ok' && <p className="small">Expected: {item.expected}.</p>}
      {again && <CheckForm item={item} record={record} onTaken={() => setAgain(false)} />}
    </>
  );
}
