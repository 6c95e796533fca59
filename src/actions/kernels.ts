/**
 * What "answering" means, as a number at every instant: the response a field would show if a mark lay there. A
 * step compares just after with just before; a level compares inside a span with both its sides, so
 * that a steady drift cancels; a change and a departure take their sizes whatever the sign, for actions
 * that alternate between on and off, and for levers that go either way.
 */
import type { GriddedField } from './grid.ts';
import { GRID_S, SHIFT_STRIDE } from './grid.ts';

export interface Kernel {
  readonly kind: 'step' | 'change' | 'level' | 'departure';
  readonly points: number;
}

export const isLasting = ({ kind }: Kernel): boolean => kind === 'level' || kind === 'departure';

export const kernelName = (kernel: Kernel): string => `${kernel.kind}${kernel.points}`;

/** Running sums of a gridded field: index k holds the sum over points before k. */
interface Sums {
  readonly value: Float64Array;
  readonly present: Int32Array;
}

export function runningSums(field: GriddedField): Sums {
  const points = field.value.length;
  const value = new Float64Array(points + 1);
  const present = new Int32Array(points + 1);
  for (let k = 0; k < points; k++) {
    value[k + 1] = (value[k] as number) + (field.value[k] as number) - field.least * (field.present[k] as number);
    present[k + 1] = (present[k] as number) + (field.present[k] as number);
  }
  return { value, present };
}

const upToStep = (point: number): number => Math.ceil(point / SHIFT_STRIDE) * SHIFT_STRIDE;

/** [shifts] mean after minus mean before; 0 where either side is not wholly there. */
function stepResponse({ value, present }: Sums, width: number): Float64Array {
  const points = value.length - 1;
  const out = new Float64Array(points / SHIFT_STRIDE);
  for (let k = upToStep(width); k + width <= points; k += SHIFT_STRIDE) {
    if ((present[k + width] as number) - (present[k - width] as number) < 2 * width) continue;
    out[k / SHIFT_STRIDE] =
      ((value[k + width] as number) - 2 * (value[k] as number) + (value[k - width] as number)) / width;
  }
  return out;
}

/** Points after an edge that a level does not look at: fields take a while to follow. */
const settlePoints = (width: number): number => Math.min(Math.round(0.3 / GRID_S), Math.floor(width / 4));
const sidePoints = (width: number): number => Math.min(Math.max(width, Math.round(1 / GRID_S)), Math.round(4 / GRID_S));

/** [shifts] mean inside a span of `width` points that starts there, minus the mean of its two sides. */
function levelResponse({ value, present }: Sums, width: number): Float64Array {
  const points = value.length - 1;
  const out = new Float64Array(points / SHIFT_STRIDE);
  const settle = settlePoints(width);
  const side = sidePoints(width);
  const reach = width + settle + side;
  for (let k = upToStep(side); k + reach <= points; k += SHIFT_STRIDE) {
    if ((present[k + reach] as number) - (present[k - side] as number) < reach + side) continue;
    const inside = ((value[k + width] as number) - (value[k + settle] as number)) / (width - settle);
    const before = (value[k] as number) - (value[k - side] as number);
    const after = (value[k + reach] as number) - (value[k + width + settle] as number);
    out[k / SHIFT_STRIDE] = inside - (before + after) / (2 * side);
  }
  return out;
}

/** The kernel whose sizes these are, whatever their sign; null where signs count. */
export const signedKernel = ({ kind, points }: Kernel): Kernel | null =>
  kind === 'change' ? { kind: 'step', points } : kind === 'departure' ? { kind: 'level', points } : null;

/** [shifts] the response of a field at every shift step of the circle, to a kernel for which signs count. */
export const respond = (sums: Sums, kernel: Kernel): Float64Array =>
  isLasting(kernel) ? levelResponse(sums, kernel.points) : stepResponse(sums, kernel.points);
