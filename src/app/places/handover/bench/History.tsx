/** The trials so far: drawn, a row a frame and a column a trial, and as a table behind it. */
import { useState, type FormEvent, type ReactNode } from 'react';
import { withSetAside } from '../../../../handover/bench/record.ts';
import { groupStyle } from '../../../../kit/drawing/palette.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { historyOf, type HistoryRow, type HistoryTrial } from './history.ts';
import { keepBench } from './kept.ts';
import type { BenchNow } from './use-bench.ts';
import { VerdictGlyph, VerdictMark } from './VerdictGlyph.tsx';
import { VERDICT_WORDS } from './words.ts';

const COLUMN = 16;
const ROW = 13;
const LABEL = 132;
const HEAD = 34;

export function History({ now }: { now: BenchNow }): ReactNode {
  const { rows, trials } = historyOf(now.record, now.state);
  if (trials.length === 0) return null;
  return (
    <section className="bench-section" aria-label="Trials so far">
      <h3>
        Trials so far <small>{trials.length}</small>
      </h3>
      <Drawing rows={rows} trials={trials} />
      <p className="small dim bench-legend">
        {(Object.keys(VERDICT_WORDS) as (keyof typeof VERDICT_WORDS)[]).map((verdict) => (
          <span key={verdict}>
            <VerdictGlyph verdict={verdict} /> {VERDICT_WORDS[verdict]}
          </span>
        ))}
        <span>filled: sent; pale: does not count</span>
      </p>
      <details>
        <summary>
          <b>The trials as a table</b>
        </summary>
        <table className="list bench-trials">
          <thead>
            <tr>
              <th>trial</th>
              <th>sent</th>
              <th>verdict</th>
              <th>because</th>
              <th>moved</th>
              <th>
                <span className="unseen">set aside</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {trials.toReversed().map((trial) => (
              <Row key={trial.number} trial={trial} now={now} />
            ))}
          </tbody>
        </table>
      </details>
    </section>
  );
}

function Drawing({ rows, trials }: { rows: readonly HistoryRow[]; trials: readonly HistoryTrial[] }): ReactNode {
  const [width, height] = [LABEL + trials.length * COLUMN + 8, HEAD + rows.length * ROW + 4];
  const works = trials.filter(({ verdict }) => verdict === 'operational').length;
  const label = `${plural(trials.length, 'trial')} over ${plural(rows.length, 'frame')}, ${works} of them operational; the table behind has each`;
  return (
    <div className="bench-drawing" tabIndex={0} role="group" aria-label="Drawing of the trials">
      <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role="img" aria-label={label}>
        {rows.map((row, at) => (
          <g key={row.key}>
            <rect
              x="0"
              y={HEAD + at * ROW + 1}
              width="3"
              height={ROW - 3}
              fill={groupStyle(row.group, 'var(--ink-2)')}
            />
            <text x="9" y={HEAD + at * ROW + 10} className="bench-row-name">
              {row.label}
            </text>
          </g>
        ))}
        {trials.map((trial, at) => (
          <Column key={trial.number} trial={trial} rows={rows} x={LABEL + at * COLUMN} />
        ))}
      </svg>
    </div>
  );
}

function Column({ trial, rows, x }: { trial: HistoryTrial; rows: readonly HistoryRow[]; x: number }): ReactNode {
  return (
    <g className={trial.out === null ? undefined : 'bench-out'}>
      <text x={x + COLUMN / 2} y="10" textAnchor="middle" className="bench-number">
        {trial.number}
      </text>
      <VerdictMark verdict={trial.verdict} x={x + COLUMN / 2} y={23} />
      {rows.map((row, at) => (
        <rect
          key={row.key}
          x={x + 2.5}
          y={HEAD + at * ROW + 1.5}
          width={COLUMN - 5}
          height={ROW - 4}
          className={trial.sent.has(row.key) ? 'bench-was-sent' : 'bench-not-sent'}
        />
      ))}
    </g>
  );
}

const movedWords = (moved: boolean | null): string => (moved === null ? 'not watched' : moved ? 'yes' : 'no');

function Row({ trial, now }: { trial: HistoryTrial; now: BenchNow }): ReactNode {
  return (
    <tr>
      <td>{trial.number}</td>
      <td>{trial.sent.size}</td>
      <td>
        <VerdictGlyph verdict={trial.verdict} /> {VERDICT_WORDS[trial.verdict]}
      </td>
      <td>
        {trial.reasons[0]}
        {trial.out !== null && <i> Does not count: {trial.out}.</i>}
      </td>
      <td>{movedWords(trial.moved)}</td>
      <td>
        {trial.setAside ? (
          <button
            type="button"
            className="button plain"
            onClick={() => keepBench(`let trial ${trial.number} count`, withSetAside(now.record, [trial.number], ''))}
          >
            Let it count<span className="unseen"> again, trial {trial.number}</span>
          </button>
        ) : (
          <SetAside number={trial.number} now={now} />
        )}
      </td>
    </tr>
  );
}

/** With the reason: it stays on record, and does not count. */
function SetAside({ number, now }: { number: number; now: BenchNow }): ReactNode {
  const [why, setWhy] = useState<string | null>(null);
  if (why === null)
    return (
      <button type="button" className="button plain" onClick={() => setWhy('')}>
        Set aside<span className="unseen"> trial {number}</span>
      </button>
    );
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (why.trim() !== '') keepBench(`set trial ${number} aside`, withSetAside(now.record, [number], why.trim()));
    setWhy(null);
  };
  return (
    <form onSubmit={submit}>
      <input
        className="field"
        value={why}
        autoFocus
        placeholder="why"
        aria-label={`Why trial ${number} does not count`}
        onChange={(event) => setWhy(event.target.value)}
      />
    </form>
  );
}
