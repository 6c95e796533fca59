/** What readings and marks made beside the capture said: for each quantity and each action, how many signals held, failed, could not be asked. */
import type { ReactNode } from 'react';
import type { ProofReport, ProofVerdict } from '../../../proof/hold/types.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { sentence } from '../../words/sentence.ts';
import { VerdictGlyph } from './Glyphs.tsx';
import { VERDICT_WORDS } from './rows.ts';

interface Counted {
  readonly holds: number;
  readonly fails: number;
  readonly notExercised: number;
}

interface BesideRow extends Counted {
  readonly title: string;
  readonly note: string;
}

const rowsOf = ({ references = [], answers = [] }: ProofReport): readonly BesideRow[] => [
  ...references.map(({ name, unit, readings, ...counted }) => ({
    ...counted,
    title: name,
    note: `${plural(readings, 'reading')}${unit ? ` in ${unit}` : ''}`,
  })),
  ...answers.map(({ action, marks, ...counted }) => ({
    ...counted,
    title: `“${action}”`,
    note: plural(marks, 'mark'),
  })),
];

const isAbout = ({ holds, fails, notExercised }: Counted): boolean => holds + fails + notExercised > 0;

export function BesidePart({ report }: { report: ProofReport }): ReactNode {
  const rows = rowsOf(report);
  if (rows.length === 0) return null;
  const about = rows.filter(isAbout);
  const others = rows.filter((row) => !isAbout(row));
  const clocks = [...new Set((report.references ?? []).filter(isAbout).map(({ clockWords }) => clockWords))];
  return (
    <section className="panel-part">
      <h3>By what was made beside it</h3>
      {about.length > 0 && (
        <table className="list">
          <tbody>
            {about.map((row) => (
              <Line key={row.title} row={row} />
            ))}
          </tbody>
        </table>
      )}
      {clocks.map((words) => (
        <p key={words} className="small dim">
          {sentence(`clock of the readings: ${words}`)}
        </p>
      ))}
      {others.length > 0 && (
        <p className="small dim">No signal of the map speaks of {others.map(({ title }) => title).join(', ')}.</p>
      )}
    </section>
  );
}

function Line({ row: { title, note, ...counted } }: { row: BesideRow }): ReactNode {
  const shown: readonly (readonly [ProofVerdict, number])[] = [
    ['holds', counted.holds],
    ['fails', counted.fails],
    ['not-exercised', counted.notExercised],
  ];
  return (
    <tr>
      <td>
        {title} <span className="dim">{note}</span>
      </td>
      {shown.map(([verdict, n]) => (
        <td key={verdict} className="right proof-counted">
          {n > 0 && (
            <>
              <VerdictGlyph verdict={verdict} /> {n}
              <span className="unseen"> {VERDICT_WORDS[verdict]}</span>
            </>
          )}
        </td>
      ))}
    </tr>
  );
}
