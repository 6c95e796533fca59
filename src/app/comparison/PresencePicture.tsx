/**
 * One identifier in two captures: its thread in each, as thick as its rate, on that capture's own clock. Where a capture lacks it there is
 * no thread but a dotted field; a thread drawn thin would be a value.
 */
import type { ReactNode } from 'react';
import type { ComparisonProfile, IdentifierProfile } from '../../proof/compare/profile-types.ts';
import { groupStyle } from '../../kit/drawing/palette.ts';
import { presenceWords, type ComparedRow } from './rows.ts';

const WIDE = 1000;
const HIGH = 14;
/** Stretches nearer than this are drawn as one. */
const JOINED = 3;
const LEAST_WIDE = 2.5;

/** Thickness of a strand by its rate, as in the loom. */
function thickness({ count, present }: IdentifierProfile): number {
  const seconds = present.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0);
  return Math.min(HIGH - 4, 0.7 + 0.46 * Math.sqrt(seconds > 0 ? count / seconds : 1));
}

interface Stretch {
  readonly x: number;
  readonly width: number;
}

function stretches({ present }: IdentifierProfile, { startS, durationS }: ComparisonProfile): Stretch[] {
  const place = (atS: number): number => (WIDE * (atS - startS)) / Math.max(1e-6, durationS);
  const joined: { x: number; to: number }[] = [];
  for (const { fromS, toS } of present) {
    const [x, to] = [place(fromS), Math.max(place(toS), place(fromS) + LEAST_WIDE)];
    const last = joined.at(-1);
    if (last && x - last.to < JOINED) last.to = Math.max(last.to, to);
    else joined.push({ x, to });
  }
  return joined.map(({ x, to }) => ({ x, width: to - x }));
}

interface HalfProps {
  readonly identifier: IdentifierProfile | null;
  readonly profile: ComparisonProfile;
  readonly group: string | null;
}

function Half({ identifier, profile, group }: HalfProps): ReactNode {
  const high = identifier ? thickness(identifier) : 0;
  return (
    <svg className="cmp-half" viewBox={`0 0 ${WIDE} ${HIGH}`} preserveAspectRatio="none" aria-hidden="true">
      {identifier ? (
        stretches(identifier, profile).map(({ x, width }) => (
          <rect
            key={x}
            x={x}
            y={(HIGH - high) / 2}
            width={width}
            height={high}
            fill={groupStyle(group, 'var(--ink-2)')}
          />
        ))
      ) : (
        <line
          x1={0}
          x2={WIDE}
          y1={HIGH / 2}
          y2={HIGH / 2}
          stroke="var(--rule-key)"
          strokeWidth={1}
          strokeDasharray="1 5"
          vectorEffect="non-scaling-stroke"
        />
      )}
    </svg>
  );
}

export function PresencePicture({
  row,
  a,
  b,
}: {
  row: ComparedRow;
  a: ComparisonProfile;
  b: ComparisonProfile;
}): ReactNode {
  return (
    <span className="cmp-halves">
      <Half identifier={row.a} profile={a} group={row.group} />
      <Half identifier={row.b} profile={b} group={row.group} />
      <span className="unseen">
        first: {presenceWords(row.a, a.startS)}; second: {presenceWords(row.b, b.startS)}
      </span>
    </span>
  );
}
