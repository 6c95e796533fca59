/** From the least to the most significant bit of fields that go over several bytes. */
import { CELL, LEFT, ROW, TOP, type Pen } from './bits-grid.ts';
import type { BitArrow } from './bits-layout.ts';

const ARROW_Y = 20;
const xOf = (bit: number): number => LEFT + (7 - bit) * CELL + CELL / 2;

/** Right to left within a byte, a bar at the least and a head at the most significant bit; dashed along the edge between two rows. */
export function drawArrows({ surface, palette }: Pen, arrows: readonly BitArrow[]): void {
  const lines: number[] = [];
  const stitches: number[] = [];
  for (const arrow of arrows) {
    arrow.runs.forEach((_, index) => {
      lines.push(...runPoints(arrow, index));
      stitches.push(...stitchPoints(arrow, index));
    });
  }
  surface.polyline(stitches, { color: palette.ink3, width: 0.9, dash: [2, 2.5] });
  surface.polyline(lines, { color: palette.ink2, width: 1.1 });
}

const UP = [Number.NaN, Number.NaN] as const;
/** Where a run is left to the next row, short of the edge of its cells. */
const INSET = CELL / 2 - 5;
const yOf = (row: number): number => TOP + row * ROW + ARROW_Y;

function runPoints({ runs, hasStart, hasEnd }: BitArrow, index: number): number[] {
  const { row, lowBit, highBit } = runs[index] as BitArrow['runs'][number];
  const y = yOf(row);
  const starts = index === 0 && hasStart;
  const ends = index === runs.length - 1 && hasEnd;
  const [left, right] = [xOf(highBit) - (ends ? 0 : INSET), xOf(lowBit) + (starts ? 0 : INSET)];
  return [
    ...(starts ? [right, y - 3, right, y + 3, ...UP] : []),
    right,
    y,
    left,
    y,
    ...UP,
    ...(ends ? [left + 4, y - 3, left, y, left + 4, y + 3, ...UP] : []),
  ];
}

function stitchPoints({ runs }: BitArrow, index: number): number[] {
  const [run, next] = [runs[index], runs[index + 1]];
  if (!run || !next) return [];
  const [left, start] = [xOf(run.highBit) - INSET, xOf(next.lowBit) + INSET];
  const [y, nextY] = [yOf(run.row), yOf(next.row)];
  const edge = TOP + Math.max(run.row, next.row) * ROW;
  const isBeside = Math.abs(next.row - run.row) === 1;
  return [left, y, ...(isBeside ? [left, edge, start, edge] : []), start, nextY, ...UP];
}
