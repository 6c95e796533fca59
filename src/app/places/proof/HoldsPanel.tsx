/** The panel of "Does it hold?": the counts, what may be taken, and the held item with its figures and moments. */
import type { ReactNode } from 'react';
import { describeProblem } from '../../../kit/outcome.ts';
import { usePhone } from '../payloads/layout.ts';
import { useAgainst } from './asking.ts';
import { BesidePart } from './BesidePart.tsx';
import { VerdictGlyph } from './Glyphs.tsx';
import { holdFrame, type Shown } from './held.ts';
import { HeldItem } from './HeldItem.tsx';
import { countsOf, VERDICT_WORDS, VERDICTS, type FrameRow } from './rows.ts';
import { useProof } from './store.ts';
import { Tally } from './Tally.tsx';
import { WeakLine } from './WeakLine.tsx';

export function HoldsPanel({ shown }: { shown: Shown }): ReactNode {
  const against = useAgainst();
  const { report, frame, item } = shown;
  // On a phone the panel lies below a long list: there the counts stand above it, and the item's words at the item.
  const phone = usePhone();
  return (
    <div className="proof-panel">
      {report && against && !phone && <Tally shown={shown} against={against} />}
      {report && frame && item && !phone && <HeldItem frame={frame} row={item} />}
      {report && frame && !item && !phone && <HeldFrame row={frame} />}
      {report && <BesidePart report={report} />}
      {report && <Warned shown={shown} />}
      {report && <VerdictLegend />}
      <WeakLine />
    </div>
  );
}

function HeldFrame({ row }: { row: FrameRow }): ReactNode {
  const open = useProof((state) => state.open);
  // All of it, whatever the filter lists.
  const counts = countsOf(row.frame.items);
  return (
    <section className="panel-part">
      <h3>
        <VerdictGlyph verdict={row.frame.verdict} /> <span className="mono">{row.shownId}</span>{' '}
        <small>{VERDICT_WORDS[row.frame.verdict]}</small>
      </h3>
      <p className="small">
        {counts.holds} hold, {counts.fails} fail, {counts.untested} not exercised.
      </p>
      {!open && (
        <button type="button" className="button" onClick={() => holdFrame(row, true)}>
          Open its items <kbd>Enter</kbd>
        </button>
      )}
    </section>
  );
}

/** What of the whole is worth a word: buses under other names, and what the holding warned of. */
function Warned({ shown }: { shown: Shown }): ReactNode {
  const { report } = shown;
  if (!report) return null;
  const buses = Object.entries(report.buses).filter(([bus, found]) => bus !== found);
  if (buses.length === 0 && report.warnings.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>To bear in mind</h3>
      {buses.map(([bus, found]) => (
        <p key={bus} className="small">
          {found === null ? `Nothing in this capture is ${bus} of the map.` : `${bus} of the map is ${found} here.`}
        </p>
      ))}
      {report.warnings.map((warning) => (
        <p key={warning.code} className="small">
          {describeProblem(warning)}
        </p>
      ))}
    </section>
  );
}

const MEANINGS: Readonly<Record<(typeof VERDICTS)[number], string>> = {
  holds: 'tested here, and as the map says',
  fails: 'tested here, and not as the map says',
  'not-exercised': 'this capture cannot test it: never counted as held',
};

function VerdictLegend(): ReactNode {
  return (
    <section className="panel-part">
      <h3>Verdicts</h3>
      <dl className="proof-legend">
        {VERDICTS.map((verdict) => (
          <div key={verdict}>
            <dt>
              <VerdictGlyph verdict={verdict} /> {VERDICT_WORDS[verdict]}
            </dt>
            <dd className="dim">{MEANINGS[verdict]}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
