/** How much holds, and taking what was proven: into the dossier, or of a map file into a new file. */
import { useMemo, type ReactNode } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { ProofVerdict } from '../../../proof/hold/types.ts';
import { useDossier } from '../../stores/dossier.ts';
import { takenProofs } from '../../stores/proofs.ts';
import { count } from '../../../kit/sheet-figures.ts';
import { capital } from '../../words/sentence.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import type { Shown } from './held.ts';
import { allItems, countsOf } from './rows.ts';
import { useProof } from './store.ts';
import { becameOf, becameWords, saveProven, takeable, takeIntoDossier } from './take.ts';

const COUNT_WORDS: Readonly<Record<ProofVerdict, readonly [string, string]>> = {
  holds: ['holds', 'hold'],
  fails: ['fails', 'fail'],
  'not-exercised': ['not exercised', 'not exercised'],
};

/** Each count shows only what it counts, and all again where it is pressed once more. */
export function Tally({ shown, against }: { shown: Shown; against: DossierCapture }): ReactNode {
  const { report } = shown;
  const filter = useProof((state) => state.filter);
  const counts = countsOf(report ? allItems(report) : []);
  const rows: readonly (readonly [ProofVerdict, number])[] = [
    ['holds', counts.holds],
    ['fails', counts.fails],
    ['not-exercised', counts.untested],
  ];
  return (
    <section>
      <h3 className="unseen">In all</h3>
      <ul className="proof-tally">
        {rows.map(([verdict, n]) => (
          <li key={verdict}>
            <button
              type="button"
              aria-pressed={filter === verdict}
              onClick={() => useProof.getState().set({ filter: filter === verdict ? 'all' : verdict })}
            >
              <span className="figure">{count(n)}</span>
              <span className="line-of small">
                <VerdictGlyph verdict={verdict} /> {COUNT_WORDS[verdict][n === 1 ? 0 : 1]}
              </span>
            </button>
          </li>
        ))}
      </ul>
      <Taking shown={shown} against={against} />
    </section>
  );
}

/** What this capture proved of the map, and whether it stands in the dossier. */
function Taking({ shown, against }: { shown: Shown; against: DossierCapture }): ReactNode {
  const { map, report } = shown;
  const opened = useProof((state) => state.opened);
  const taken = useDossier(({ dossier }) => takenProofs(dossier)).find(({ capture }) => capture.id === against.id);
  const proof = useMemo(() => (map && report ? takeable(map, report, against) : null), [map, report, against]);
  const isTaken = useMemo(
    () => taken !== undefined && proof !== null && JSON.stringify(taken.signals) === JSON.stringify(proof.signals),
    [taken, proof],
  );
  if (!report || !proof)
    return <p className="small">The map was made from this very recording: nothing can be proven by it.</p>;
  return (
    <>
      <p className="small">{capital(becameWords(becameOf(proof)))}.</p>
      {opened ? (
        <button type="button" className="button go" onClick={() => saveProven(opened, report, against)}>
          Save the map with this <kbd>T</kbd>
        </button>
      ) : isTaken ? (
        <p className="small proof-taken" role="status">
          <VerdictGlyph verdict="holds" /> Stands in the dossier: what is proven says by “{against.title}”.
        </p>
      ) : (
        <button
          type="button"
          className="button go"
          disabled={shown.finding.outdated}
          onClick={() => takeIntoDossier(proof)}
        >
          {taken ? 'Take it anew' : 'Take it into the dossier'} <kbd>T</kbd>
        </button>
      )}
    </>
  );
}
