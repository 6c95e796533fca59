/** What the loom's marks mean, in one line under it. */
import type { ReactNode } from 'react';
import { strandWidth, type Loom } from '../../../timing/loom/model.ts';

const RATES: readonly (readonly [number, string])[] = [
  [100, '10 ms'],
  [20, '50 ms'],
  [5, '200 ms'],
  [1, '1 s'],
];

function Stroke({ width, dash }: { width: number; dash?: string }): ReactNode {
  return (
    <svg width="28" height="12" aria-hidden="true">
      <line x1="0" x2="28" y1="6" y2="6" stroke="var(--ink-2)" strokeWidth={width} strokeDasharray={dash} />
    </svg>
  );
}

/** Only what is in the picture is explained. */
export function Legend({ loom }: { loom: Loom }): ReactNode {
  const branches = loom.buses.flatMap((bus) => bus.branches);
  const strands = branches.flatMap((branch) => branch.strands);
  const bound = branches.filter(({ kind, strands: own }) => kind === 'sender' && own.length > 1);
  return (
    <ul className="senders-legend tiny dim">
      <li>strand width</li>
      {RATES.map(([rate, words]) => (
        <li key={rate}>
          <Stroke width={strandWidth(rate)} /> {words}
        </li>
      ))}
      {strands.some(({ onChange }) => onChange) && (
        <li>
          <Stroke width={1.2} dash="5 3.5" /> no period
        </li>
      )}
      {bound.some(({ doubted }) => !doubted) && (
        <li>
          <Tie /> one sender, as timing says
        </li>
      )}
      {bound.some(({ doubted }) => doubted) && (
        <li>
          <Tie doubted /> in doubt
        </li>
      )}
      {strands.some(({ end }) => end === 'ring') && (
        <li>
          <svg width="12" height="12" aria-hidden="true">
            <circle cx="6" cy="6" r="3" fill="none" stroke="var(--ink-2)" strokeWidth="1.4" />
          </svg>{' '}
          a gateway’s copy
        </li>
      )}
      {strands.some(({ end }) => end === 'square') && (
        <li>
          <svg width="12" height="12" aria-hidden="true">
            <rect x="2.5" y="2.5" width="7" height="7" fill="none" stroke="var(--ink)" strokeWidth="1.4" />
          </svg>{' '}
          put there by hand
        </li>
      )}
    </ul>
  );
}

function Tie({ doubted }: { doubted?: boolean }): ReactNode {
  return (
    <svg width="10" height="14" aria-hidden="true">
      {(doubted ? [5] : [2, 7]).map((x) => (
        <line
          key={x}
          x1={x}
          x2={x}
          y1="0"
          y2="14"
          stroke="var(--ink)"
          strokeWidth="1.5"
          strokeDasharray={doubted ? '3 2.5' : undefined}
        />
      ))}
    </svg>
  );
}
