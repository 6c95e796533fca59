/** What to do next on the bench: measure, run this trial, look at the wiring, or stop. Files of a trial only for the phrase that was typed. */
import { useCallback, useMemo, type ReactNode } from 'react';
import { AIMS } from '../../../../handover/bench/trial-files.ts';
import { cautionsFor } from '../../../../handover/cautions.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { Confirm } from '../sending/Confirm.tsx';
import { CHANGED, makeSending, useToConfirm } from '../sending/making.ts';
import { saveTexts, sendingStem } from '../sending/saving.ts';
import type { SendingQuestion } from '../sending/sending-worker.ts';
import { OwnTrials } from './OwnTrials.tsx';
import { Recording } from './Recording.tsx';
import { StepWords } from './StepWords.tsx';
import type { BenchNow } from './use-bench.ts';

export function NextTrial({ now }: { now: BenchNow }): ReactNode {
  const { state, record, trial } = now;
  const { expectedTrials, mostTrials, mostIfDisturbed, candidates } = state.bounds;
  const most = record.wiringSure.length > 0 ? mostIfDisturbed : mostTrials;
  return (
    <section className="bench-section bench-next" tabIndex={-1} aria-label="What to do next">
      <h3>
        {trial ? `Trial ${trial.number}` : 'Next'}{' '}
        {candidates > 0 && (
          <small>
            {plural(record.trials.length, 'trial')} so far; about {expectedTrials} for {plural(candidates, 'frame')},{' '}
            {most} at most
          </small>
        )}
      </h3>
      <StepWords now={now} step={state.step} />
      {state.setOut.length > 0 && (
        <p className="small">
          Left out since a set was found that works: {state.setOut.join(', ')}. With everything sent it does not, so one
          of these at least disturbs the part; which, is not told.
        </p>
      )}
      <OwnTrials now={now} />
      {trial && <ToRun now={now} trial={trial} />}
    </section>
  );
}

interface ToRunProps {
  readonly now: BenchNow;
  readonly trial: NonNullable<BenchNow['trial']>;
}

function ToRun({ now, trial }: ToRunProps): ReactNode {
  return (
    <>
      <p>{AIMS[trial.aim]}</p>
      <Sent now={now} trial={trial} />
      <Files now={now} trial={trial} />
      <h4>On the bench</h4>
      <Steps trial={trial} />
      <Recording now={now} trial={trial} />
    </>
  );
}

function Sent({ now: { record }, trial }: ToRunProps): ReactNode {
  const names = new Map(record.candidates.map(({ key, name }) => [key, name]));
  const total = record.candidates.length;
  const out = record.candidates.filter(({ key }) => !trial.sent.includes(key)).map(({ name, key }) => name || key);
  if (trial.sent.length === 0)
    return (
      <p>
        <b>Nothing is sent</b>, none of the {plural(total, 'frame')}.
      </p>
    );
  return (
    <details className="bench-sent">
      <summary>
        <b>
          {trial.sent.length} of {plural(total, 'frame')} sent
        </b>
        {out.length > 0 && out.length <= 6 && <span className="small dim">without {out.join(', ')}</span>}
      </summary>
      <p className="small bench-names">
        {trial.sent.map((key) => (
          <span key={key}>
            {names.get(key)} <span className="mono dim">{key}</span>
          </span>
        ))}
      </p>
    </details>
  );
}

function Files({ now: { map, plan, record }, trial }: ToRunProps): ReactNode {
  const question = useMemo<SendingQuestion>(
    () => ({ what: 'trial', map, plan, record, trial, typed: '' }),
    [map, plan, record, trial],
  );
  const { made, problem } = useToConfirm(question);
  const name = `${sendingStem(map)}.trial-${trial.number}.zip`;
  const save = useCallback(
    async (typed: string) => {
      const { files } = await makeSending({ ...question, typed });
      if (!files) throw new Error(CHANGED);
      saveTexts(name, files);
    },
    [question, name],
  );
  if (problem)
    return (
      <p role="alert" className="sending-problem">
        {problem}
      </p>
    );
  if (!made)
    return (
      <p className="small inferred" role="status">
        Its files are being made.
      </p>
    );
  return (
    <Confirm
      cautions={made.cautions}
      usual={cautionsFor(map, record.released)}
      phrase={made.phrase}
      saves="Save files of this trial"
      save={save}
    />
  );
}

function Steps({ trial }: Pick<ToRunProps, 'trial'>): ReactNode {
  const { sent, sleepS, settleS, stopped, value } = trial;
  const steps = [
    `No supply and nothing sent for ${sleepS} s or longer: a full sleep.`,
    'Start the recording, of what the part sends and what is sent to it.',
    sent.length > 0 ? 'Supply on, and the schedule from its init with it.' : 'Supply on. Send nothing.',
    value && `Set ${value.signal} to ${value.value} right after the init.`,
    stopped && `${stopped.atS} s after power-up stop ${stopped.key}; the file says how.`,
    `Touch nothing for ${settleS} s. Does something move or click that should not: emergency stop.`,
    'End the recording, then the sending, then the supply.',
  ];
  return (
    <ol className="bench-steps">
      {steps.filter(Boolean).map((step) => (
        <li key={step as string}>{step}</li>
      ))}
    </ol>
  );
}
