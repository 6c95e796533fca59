/** Where the bench stands, in a sentence: what is missing, what was found, why it does not go on. */
import type { ReactNode } from 'react';
import { checklistState } from '../../../../handover/bench/checklist.ts';
import type { BenchStep } from '../../../../handover/bench/next-step.ts';
import type { BenchNow } from './use-bench.ts';
import { WiringSure } from './WiringSure.tsx';

const Reasons = ({ lead, reasons }: { lead: string; reasons: readonly string[] }): ReactNode => (
  <>
    <p>{lead}</p>
    <ul className="bench-reasons">
      {reasons.map((words) => (
        <li key={words}>{words}</li>
      ))}
    </ul>
  </>
);

/** Titles alone: what to measure stands in the checklist above. */
function missing({ record }: BenchNow): string {
  const items = checklistState(record).items.filter(({ item, state }) => item.isSafety && /open|not-ok/.test(state));
  return items.map(({ item, state }) => `${item.title}${state === 'not-ok' ? ' (not ok)' : ''}`).join(', ');
}

export function StepWords({ now, step }: { now: BenchNow; step: BenchStep }): ReactNode {
  const nameOf = (key: string): string => {
    const name = now.record.candidates.find((each) => each.key === key)?.name;
    return name ? `${name} (${key})` : key;
  };
  const list = (keys: readonly string[]): string => keys.map(nameOf).join(', ');
  switch (step.kind) {
    case 'measure':
      return (
        <p className="bench-forbids">
          <b>No trial yet.</b> Still to be measured: {missing(now)}.
        </p>
      );
    case 'trial':
      return step.warns.length > 0 ? (
        <p className="small dim">Not in order, and perhaps why nothing works: {step.warns.map(titleIn).join(', ')}.</p>
      ) : null;
    case 'found':
      return (
        <p>
          {step.needed.length === 0
            ? 'Found: the part works with nothing sent.'
            : `Found, a minimal set of ${step.needed.length}: ${list(step.needed)}. None of it can be left out; there may be other such sets.`}
          {step.replaceable.length > 0 && ` Another frame may take the place of ${list(step.replaceable)}.`}
        </p>
      );
    case 'checklist-first':
      return (
        <>
          <Reasons lead="The wiring first." reasons={step.reasons} />
          <WiringSure record={now.record} />
        </>
      );
    case 'fault-stays':
      return (
        <p>
          Everything sent no longer works, even after {step.sleptS} s without supply: a fault stays. Clear its codes
          with a tester or find what broke, then set aside the trials that it spoiled.
        </p>
      );
    case 'cannot-tell':
      return (
        <Reasons
          lead="Trials of this set were unclear again and again. Say what the part does with the recording, or mend this:"
          reasons={step.reasons}
        />
      );
    case 'nothing-to-try':
      return <Reasons lead="No trial yet." reasons={step.reasons.slice(0, 1)} />;
    case 'bound-reached':
      return (
        <p>
          The bound of trials is reached without a certain answer. Known to be needed: {list(step.known) || 'none'}.
        </p>
      );
  }
}

const titleIn = (warning: string): string => (warning.split(':')[0] ?? warning).toLowerCase();
