/**
 * The bits of a frame drawn: fields as tinted cells with their number and name, an arrow from least to most significant bit where a field goes
 * over several bytes, what nobody claims hatched with its value. Kinds are told by shape: dots, rising ticks, a triangle, a stair.
 */
import { hatchWithin, type Hatch } from '../../../kit/drawing/hatches.ts';
import { groupColor } from '../../../kit/drawing/palette.ts';
import type { Scene } from '../../../kit/drawing/surface.ts';
import { cutText } from '../../../timing/loom/drawing.ts';
import { drawArrows } from './bits-arrows.ts';
import { CELL, LEFT, ROW, TOP, type Pen } from './bits-grid.ts';
import type { BitLayout, BitPiece } from './bits-layout.ts';
import type { ClaimKind } from './claims.ts';

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const boxOf = ({ row, highBit, lowBit }: BitPiece): Box => ({
  x: LEFT + (7 - highBit) * CELL,
  y: TOP + row * ROW,
  width: (highBit - lowBit + 1) * CELL,
  height: ROW,
});

const hatch = (angle: number, pitch: number): Hatch => ({ angle, pitch, weight: 0.75, ink: 0 });
/** What nobody claims: still bits slanted, no-data patterns level, noise and cipher crossed wide and close. */
const HATCHES: Partial<Record<ClaimKind, readonly Hatch[]>> = {
  constant: [hatch(45, 6)],
  filling: [hatch(90, 4)],
  noise: [hatch(45, 9), hatch(-45, 9)],
  cipher: [hatch(45, 5), hatch(-45, 5)],
};

export const bitsScene =
  (layout: BitLayout): Scene =>
  (surface, palette) => {
    const pen: Pen = { surface, palette, hue: groupColor(palette, layout.group) };
    drawGrid(pen, layout);
    drawHatches(pen, layout.pieces);
    drawCells(pen, layout.pieces);
    for (const piece of layout.pieces) drawPiece(pen, piece);
    drawArrows(pen, layout.arrows);
    surface.frame(LEFT, TOP, 8 * CELL, layout.rows.length * ROW, { color: palette.ruleKey });
  };

function drawGrid({ surface, palette }: Pen, { rows }: BitLayout): void {
  const foot = TOP + rows.length * ROW;
  const columns: number[] = [];
  for (let column = 0; column < 8; column++) {
    const x = LEFT + column * CELL;
    surface.text(x + CELL / 2, TOP - 6, String(7 - column), { color: palette.ink3, size: 11, align: 'middle' });
    if (column > 0) columns.push(x, TOP, x, foot, Number.NaN, Number.NaN);
  }
  surface.polyline(columns, { color: palette.rule });
  surface.text(LEFT - 8, TOP - 6, 'bit', { color: palette.ink3, size: 11, align: 'end' });
  const edges: number[] = [];
  rows.forEach(({ firstByte, lastByte }, row) => {
    const y = TOP + row * ROW;
    const words = firstByte === lastByte ? `b${firstByte}` : `b${firstByte}–${lastByte}`;
    surface.text(LEFT - 8, y + 17, words, { color: palette.ink2, size: 11, align: 'end', mono: true });
    if (row > 0) edges.push(LEFT, y, LEFT + 8 * CELL, y, Number.NaN, Number.NaN);
  });
  surface.polyline(edges, { color: palette.rule2 });
}

/** All of a weight as one path. */
function drawHatches({ surface, palette }: Pen, pieces: readonly BitPiece[]): void {
  const points = pieces.flatMap((piece) => {
    const { x, y, width, height } = boxOf(piece);
    const hatches = piece.number === '' ? (HATCHES[piece.kind] ?? []) : [];
    return hatches.flatMap((each) => hatchWithin(each, x, y, width, height));
  });
  surface.polyline(points, { color: palette.rule2, width: 0.75 });
}

/** Tints and edges of all fields as one path each: a long payload has hundreds. */
function drawCells({ surface, palette, hue }: Pen, pieces: readonly BitPiece[]): void {
  const tints: number[] = [];
  const edges: number[] = [];
  for (const piece of pieces.filter(({ number }) => number !== '')) {
    const { x, y, width, height } = boxOf(piece);
    const [left, top, right, foot] = [x + 1, y + 1, x + width - 1, y + height - 1];
    tints.push(x, y + height / 2, x + width, y + height / 2, Number.NaN, Number.NaN);
    edges.push(left, top, right, top, right, foot, left, foot, left, top, Number.NaN, Number.NaN);
  }
  surface.polyline(tints, { color: palette.ground, width: ROW, alpha: 0.55 });
  surface.polyline(tints, { color: hue, width: ROW, alpha: 0.14 });
  surface.polyline(edges, { color: hue, width: 1.2 });
}

function drawPiece(pen: Pen, piece: BitPiece): void {
  const box = boxOf(piece);
  if (piece.number !== '') drawKind(pen, piece.kind, box);
  drawLabel(pen, piece, box);
}

function drawLabel({ surface, palette }: Pen, { number, label, kind }: BitPiece, box: Box): void {
  const y = box.y + 14;
  if (number === '') {
    const text = cutText(label, box.width - 6, 11);
    const color = kind === 'idle' ? palette.ink3 : palette.ink2;
    const style = { color, size: 11, mono: true, align: 'middle', halo: palette.ground } as const;
    surface.text(box.x + box.width / 2, y + 4, text || label.slice(0, 4), style);
    return;
  }
  surface.text(box.x + 6, y, number, { color: palette.ink, size: 11, weight: 600 });
  const indent = 12 + 7 * number.length;
  const text = box.width < 2 * CELL ? '' : cutText(label, box.width - indent - 4, 11);
  if (text) surface.text(box.x + indent, y, text, { color: palette.ink, size: 11 });
}

/** A small sign at the right foot of the cells. */
function drawKind({ surface, palette }: Pen, kind: ClaimKind, { x, y, width, height }: Box): void {
  const right = x + width - 5;
  const foot = y + height - 5;
  const stroke = { color: palette.ink2, width: 1.2 };
  if (kind === 'selector') surface.area([right - 8, foot, right, foot, right - 4, foot - 7], { color: palette.ink });
  else if (kind === 'counter')
    for (let k = 0; k < 4; k++) surface.line(right - 9 + 3 * k, foot, right - 9 + 3 * k, foot - 2 - 1.7 * k, stroke);
  else if (kind === 'checksum')
    for (let k = 0; k < 6; k++)
      surface.circle(right - 9 + 4 * (k % 3), foot - 1 - 4 * Math.floor(k / 3), 0.9, { fill: { color: palette.ink2 } });
  else if (kind === 'states')
    surface.polyline(
      [
        right - 9,
        foot,
        right - 6,
        foot,
        right - 6,
        foot - 3,
        right - 3,
        foot - 3,
        right - 3,
        foot - 6,
        right,
        foot - 6,
      ],
      stroke,
    );
}

const LEGEND: Partial<Record<ClaimKind, string>> = {
  selector: 'page selector',
  states: 'states',
  counter: 'counter',
  checksum: 'checksum',
  constant: 'never moved',
  filling: 'no data',
  noise: 'noise',
  cipher: 'cipher',
};
export const LEGEND_SIZE = { width: 112, height: 22 };

/** What of this has a sign to explain; in the order of the legend. */
export const legendKinds = (kinds: readonly string[]): ClaimKind[] =>
  (Object.keys(LEGEND) as ClaimKind[]).filter((kind) => kinds.includes(kind));

/** One sign and its word. */
export const legendScene =
  (kind: ClaimKind): Scene =>
  (surface, palette) => {
    const box = { x: 0.5, y: 2.5, width: 22, height: 17 };
    for (const each of HATCHES[kind] ?? [])
      surface.polyline(hatchWithin(each, box.x, box.y, box.width, box.height), {
        color: palette.ink3,
        width: each.weight,
      });
    surface.frame(box.x, box.y, box.width, box.height, { color: palette.ruleKey });
    drawKind({ surface, palette, hue: palette.ink3 }, kind, box);
    surface.text(box.x + 28, 15, LEGEND[kind] ?? '', { color: palette.ink2, size: 11 });
  };
