/** The rows beside the strands: identifier, name, period, jitter; in two lines on a phone; brackets round the one that is held. */
import { period } from '../../kit/sheet-figures.ts';
import { cutText, LETTER, type Drawing } from './drawing.ts';
import type { LoomLayout, PlacedStrand } from './layout.ts';
import type { Strand } from './model.ts';

export function drawRow(drawing: Drawing, { strand, y }: PlacedStrand): void {
  const at = y - drawing.scrollY;
  if (drawing.layout.narrow) drawNarrowRow(drawing, strand, at);
  else drawWideRow(drawing, strand, at);
  if (strand.key === drawing.selected) drawBrackets(drawing, at);
}

const figuresOf = ({ periodMs, timingWords }: Strand): string => (periodMs === null ? timingWords : period(periodMs));

function drawWideRow(drawing: Drawing, strand: Strand, y: number): void {
  const { surface, palette, layout, selected, hovered } = drawing;
  const { columns, pitch } = layout;
  const size = pitch < 14 ? 11 : 12;
  const [isHeld, isNear] = [strand.key === selected, strand.key === hovered];
  const weight = isHeld || isNear ? 500 : 400;
  const figures = figuresOf(strand);
  const room = columns.periodX - figures.length * size * LETTER - 14 - columns.nameX;
  const name = cutText(nameWords(strand), room, size);
  surface.text(columns.idX, y + 4, strand.shownId, { color: palette.ink, size, mono: true, weight });
  surface.text(columns.nameX, y + 4, name, { color: palette.ink2, size, italic: !strand.named });
  const ink = strand.periodMs === null ? palette.ink2 : palette.ink;
  surface.text(columns.periodX, y + 4, figures, { color: ink, size, align: 'end' });
  drawJitter(drawing, strand, y);
  if (!isNear || isHeld) return;
  const foot = y + pitch / 2 - 0.5;
  surface.line(columns.idX, foot, columns.right - 2, foot, { color: palette.ruleKey, width: 0.75 });
}

function drawNarrowRow(drawing: Drawing, strand: Strand, y: number): void {
  const { surface, palette, layout, selected } = drawing;
  const { columns, pitch } = layout;
  surface.line(columns.idX - 8, y + pitch / 2, columns.right, y + pitch / 2, { color: palette.rule, width: 0.75 });
  const name = cutText(nameWords(strand), columns.jitterX - columns.idX - 8, 12);
  const weight = strand.key === selected ? 500 : 400;
  const first = name ? y - 3 : y + 5;
  surface.text(columns.idX, first, strand.shownId, { color: palette.ink, size: 13, mono: true, weight });
  if (name) surface.text(columns.idX, y + 14, name, { color: palette.ink2, size: 12, italic: !strand.named });
  const ink = strand.periodMs === null ? palette.ink2 : palette.ink;
  const line = strand.jitterMs === null || strand.periodMs === null ? y + 5 : y - 3;
  surface.text(columns.periodX, line, figuresOf(strand), { color: ink, size: 13, align: 'end' });
  drawJitter(drawing, strand, y + 11);
}

/** A bar with an end stop; open, with an arrow, where it goes beyond the scale. */
function drawJitter({ surface, palette, layout }: Drawing, { jitterMs, periodMs }: Strand, y: number): void {
  if (jitterMs === null || periodMs === null) return;
  const { jitterX: x, jitterWidth } = layout.columns;
  const end = x + Math.min(1, jitterMs / layout.jitterMs) * jitterWidth;
  const stroke = { color: palette.ink2, width: 1.2 };
  surface.line(x, y, end, y, stroke);
  surface.line(x, y - 1.5, x, y + 1.5, stroke);
  if (jitterMs > layout.jitterMs) surface.polyline([end - 4, y - 3.5, end, y, end - 4, y + 3.5], stroke);
  else surface.line(end, y - 3.5, end, y + 3.5, stroke);
}

function drawBrackets({ surface, palette, layout }: Drawing, y: number): void {
  const { columns, pitch, narrow } = layout;
  const half = narrow ? pitch / 2 - 3 : Math.max(8, pitch / 2 + 1);
  const stroke = { color: palette.accent, width: 2 };
  const [left, right] = [columns.dotX + (narrow ? 1 : 4), columns.right];
  surface.polyline([left + 5, y - half, left, y - half, left, y + half, left + 5, y + half], stroke);
  surface.polyline([right - 5, y - half, right, y - half, right, y + half, right - 5, y + half], stroke);
}

/** With the hand that put it there, and what timing would have said. */
function nameWords({ name, frame, group }: Strand): string {
  if (!frame.byHand) return name;
  const { timingGroup } = frame.byHand;
  const hand = timingGroup !== null && timingGroup !== group ? `by hand; timing: ${timingGroup}` : 'by hand';
  return name ? `${name}, ${hand}` : hand;
}

const jitterHead = ({ jitterMs }: LoomLayout): string => {
  const [value, unit] = jitterMs < 1 ? [jitterMs * 1000, 'us'] : [jitterMs, 'ms'];
  return `jitter, 0 to ${Number(value.toPrecision(3))} ${unit}`;
};

/** What the head of the jitter bars takes. */
const JITTER_HEAD = 86;

export function drawColumnHeads({ surface, palette, layout }: Drawing): void {
  const { columns, narrow } = layout;
  if (narrow) return;
  const head = { color: palette.ink2, size: 11 } as const;
  surface.text(columns.idX, 14, 'identifier', head);
  surface.text(columns.nameX, 14, 'name', head);
  surface.text(columns.periodX, 14, 'period', { ...head, align: 'end' });
  if (columns.jitterWidth < JITTER_HEAD) surface.text(columns.right, 14, jitterHead(layout), { ...head, align: 'end' });
  else surface.text(columns.jitterX, 14, jitterHead(layout), head);
}
