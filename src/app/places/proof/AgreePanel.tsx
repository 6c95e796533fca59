/** The panel of "Do we agree?": how the two maps compare, and what becomes of what was chosen. */
import type { ReactNode } from 'react';
import type { MergeOutcome } from '../../../proof/merge/types.ts';
import { count, plural } from '../../../kit/sheet-figures.ts';
import { openOther } from './actions.ts';
import { outcomeCounts } from './agree.ts';
import { choiceOf, saveMerged, takeAgreed, useAgreeing, type Agreeing } from './agreeing.ts';
import { useProof } from './store.ts';

const OUTCOMES: readonly { readonly outcome: MergeOutcome; readonly words: string }[] = [
  { outcome: 'equal', words: 'say the same in both' },
  { outcome: 'united', words: 'agree, and one knows more' },
  { outcome: 'only-in-first', words: 'are in yours alone' },
  { outcome: 'only-in-second', words: 'are in theirs alone' },
  { outcome: 'conflict', words: 'contradict each other' },
];

export function AgreePanel(): ReactNode {
  const agreeing = useAgreeing();
  const other = useProof((state) => state.other);
  return (
    <div className="proof-panel">
      {agreeing && other && <Outcome agreeing={agreeing} name={other.name} />}
      {agreeing && <Elsewhere agreeing={agreeing} />}
      <section className="panel-part">
        <h3>What becomes of it</h3>
        <p className="small">
          Into the dossier go signals, names and rules of guards, as one step that Ctrl Z takes back; what recordings
          show (timing, senders, rest) stays as yours has it. The merged map has all of it, and keeps what is not in
          force under “setAside”.
        </p>
      </section>
    </div>
  );
}

function Outcome({ agreeing, name }: { agreeing: Agreeing; name: string }): ReactNode {
  const counts = outcomeCounts(agreeing.base);
  const open = agreeing.conflicts.filter(
    (conflict) => conflict.section && choiceOf(conflict, agreeing.choices) === 'open',
  ).length;
  return (
    <section>
      <h3 className="proof-lead">Beside {name}</h3>
      <table className="list">
        <tbody>
          {OUTCOMES.map(({ outcome, words }) => (
            <tr key={outcome}>
              <td className="right strong">{count(counts[outcome])}</td>
              <td>{words}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="small">
        {open > 0
          ? `${plural(open, 'conflict')} left open: in dispute, each stands as a guess.`
          : 'No conflict is left open.'}
      </p>
      <p className="line-of proof-card-buttons">
        <button type="button" className="button go" onClick={() => takeAgreed(agreeing, name)}>
          Take it into the dossier <kbd>U</kbd>
        </button>
        <button type="button" className="button" onClick={() => saveMerged(agreeing)}>
          Save the merged map <kbd>S</kbd>
        </button>
        <button type="button" className="button plain" onClick={() => void openOther()}>
          Another map <kbd>O</kbd>
        </button>
      </p>
    </section>
  );
}

/** What of the whole is worth a word. */
function Elsewhere({ agreeing: { base } }: { agreeing: Agreeing }): ReactNode {
  const buses = Object.entries(base.report.buses);
  const { warnings } = base.report;
  if (buses.length === 0 && warnings.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>To bear in mind</h3>
      {buses.map(([theirs, mine]) => (
        <p key={theirs} className="small">
          Their {theirs} is your {mine}, by the identifiers on it.
        </p>
      ))}
      {warnings.map(({ code, message }) => (
        <p key={code} className="small">
          {message}
        </p>
      ))}
    </section>
  );
}
