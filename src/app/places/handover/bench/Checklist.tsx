/** The wiring checklist: an item a row, what was measured typed in. Before the safety items are answered no trial is offered. */
import { useId, type ReactNode } from 'react';
import { checklistState, type CheckState } from '../../../../handover/bench/checklist.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import { Answered } from './Answered.tsx';
import { CheckForm } from './CheckForm.tsx';
import { useBenchView } from './store.ts';
import { goToNextOpen } from './wiring-focus.ts';

export function Checklist({ record }: { record: BenchRecord }): ReactNode {
  const { items, forbids } = checklistState(record);
  const answered = items.filter(({ state }) => state !== 'open').length;
  const done = answered === items.length && forbids.length === 0;
  return (
    <details className="bench-section bench-wiring" open={!done || undefined}>
      <summary>
        <h3>
          Wiring{' '}
          <small>
            {answered} of {items.length} answered
            {forbids.length > 0 && `; ${forbids.length} still needed before any trial`}
          </small>
        </h3>
      </summary>
      <MeasuredBy record={record} />
      <ol className="bench-checks">
        {items.map((check) => (
          <li key={check.item.name} className={`check-${check.state}`}>
            <Item check={check} record={record} />
          </li>
        ))}
      </ol>
    </details>
  );
}

/** One name for all that is measured in a go. */
function MeasuredBy({ record }: { record: BenchRecord }): ReactNode {
  const by = useBenchView((state) => state.by);
  return (
    <label className="labelled bench-by">
      Measured by
      <input
        className="field"
        value={by ?? record.checklist.at(-1)?.by ?? ''}
        autoComplete="name"
        placeholder="your name"
        enterKeyHint="next"
        onChange={(event) => useBenchView.getState().set({ by: event.target.value })}
        onKeyDown={(event) => event.key === 'Enter' && goToNextOpen()}
      />
    </label>
  );
}

function Item({ check, record }: { check: CheckState; record: BenchRecord }): ReactNode {
  const { item, state } = check;
  const heading = useId();
  return (
    <section aria-labelledby={heading}>
      <h4 id={heading}>
        {item.title}
        {item.isSafety && state !== 'ok' && <small>before any trial</small>}
      </h4>
      {check.answer ? (
        <Answered check={check} answer={check.answer} record={record} />
      ) : (
        <CheckForm item={item} record={record} />
      )}
    </section>
  );
}
