/**
 * The shape of each kind of field, so that kinds are told apart in a greyscale print: wedge (number, broad at the most
 * significant bit), bar (flag), stair (states), triangle (selector), rising ticks (counter), dots (checksum), strips
 * (pages), dashed (idle, unclaimed, refused). SVG path data in a band 16 px wide.
 */
import type { Band } from './bands-model.ts';
import type { WeaveLayout } from './weave-layout.ts';
import { spansOf, stitchesOf } from './weave-layout.ts';

export const BAND_WIDTH = 16;

export interface BandShapes {
  /** Closed outlines, filled with the rule colour. */
  readonly outlines: readonly string[];
  /** Strokes on top: ticks, strips. */
  readonly strokes: readonly string[];
  /** Filled with ink: flags. */
  readonly solids: readonly string[];
  readonly dots: readonly (readonly [number, number])[];
  readonly dashedOutlines: readonly string[];
  /** From the carry bit to where the value goes on. */
  readonly stitches: readonly string[];
  readonly top: number;
  readonly bottom: number;
}

const n = (value: number): string => value.toFixed(1).replace(/\.0$/, '');
const box = (top: number, bottom: number, left = 0, right = BAND_WIDTH): string =>
  `M${n(left)} ${n(top)}H${n(right)}V${n(bottom)}H${n(left)}Z`;

export function shapesOf(band: Band, layout: WeaveLayout): BandShapes {
  const spans = spansOf(layout, band.placement);
  const runs = spans.map((span) => ({ ...span, top: span.top + 0.5, bottom: span.bottom - 0.5 }));
  const widest = Math.max(1, ...spans.map(({ topWeight }) => topWeight));
  const shapes = {
    outlines: [] as string[],
    strokes: [] as string[],
    solids: [] as string[],
    dots: [] as [number, number][],
    dashedOutlines: [] as string[],
    stitches: stitchesOf(layout, band.placement).map(stitchPath),
    top: Math.min(...runs.map(({ top }) => top)),
    bottom: Math.max(...runs.map(({ bottom }) => bottom)),
  };
  for (const run of runs) {
    switch (band.glyph) {
      case 'wedge':
        shapes.outlines.push(wedge(run, widest));
        break;
      case 'bar':
        shapes.solids.push(box(run.top, run.bottom));
        break;
      case 'stair':
        shapes.outlines.push(stair(run.top, run.bottom));
        break;
      case 'triangle':
        shapes.outlines.push(`M0 ${n(run.top)}L${BAND_WIDTH} ${n((run.top + run.bottom) / 2)}L0 ${n(run.bottom)}Z`);
        break;
      case 'ticks':
        shapes.outlines.push(box(run.top, run.bottom));
        shapes.strokes.push(ticks(run.top, run.bottom));
        break;
      case 'dots':
        shapes.outlines.push(box(run.top, run.bottom));
        shapes.dots.push(...dotsIn(run.top, run.bottom));
        break;
      case 'strips':
        shapes.outlines.push(...[0, 1, 2, 3].map((k) => box(run.top, run.bottom, k * 4.3, k * 4.3 + 3)));
        break;
      case 'text':
        shapes.outlines.push(box(run.top, run.bottom));
        shapes.strokes.push(`M4 ${n(run.top + 4)}H12M8 ${n(run.top + 4)}V${n(Math.min(run.bottom - 2, run.top + 13))}`);
        break;
      case 'dashed':
        shapes.dashedOutlines.push(box(run.top, run.bottom));
        break;
    }
  }
  return shapes;
}

/** Widths run from 4 px at weight 0 to 16 px at the field's highest weight. */
function wedge(
  run: { readonly top: number; readonly bottom: number; readonly topWeight: number; readonly bottomWeight: number },
  widest: number,
): string {
  const width = (weight: number): number =>
    Math.min(BAND_WIDTH, 4 + ((BAND_WIDTH - 4) * Math.max(0, weight + 0.5)) / (widest + 1));
  return `M0 ${n(run.top)}H${n(width(run.topWeight + 0.4))}L${n(width(run.bottomWeight - 0.4))} ${n(run.bottom)}H0Z`;
}

function stair(top: number, bottom: number): string {
  const middle = (top + bottom) / 2;
  return `M0 ${n(top)}H${BAND_WIDTH}V${n(middle)}H${BAND_WIDTH / 2}V${n(bottom)}H0Z`;
}

function ticks(top: number, bottom: number): string {
  const height = bottom - top - 3;
  return [0, 1, 2, 3, 4]
    .map((k) => `M${n(2.5 + k * 2.8)} ${n(bottom - 1.5)}V${n(bottom - 1.5 - (height * (k + 1)) / 5)}`)
    .join('');
}

function dotsIn(top: number, bottom: number): [number, number][] {
  const dots: [number, number][] = [];
  for (let y = top + 4; y < bottom - 2; y += 6) for (const x of [4, 8, 12]) dots.push([x, y]);
  return dots;
}

const stitchPath = ({ from, to }: { readonly from: number; readonly to: number }): string =>
  `M${BAND_WIDTH + 1} ${n(from)}C${BAND_WIDTH + 9} ${n(from)} ${BAND_WIDTH + 9} ${n(to)} ${BAND_WIDTH + 1} ${n(to)}`;
