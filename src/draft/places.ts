/** Whether layouts share bits, and what of an unclaimed stretch remains when a signal takes some of it. */
import { bitPositions, type Placement } from '../frames/bits.ts';
import { canCoincide } from '../map/pages.ts';
import type { MapSignal, MapUnclaimed, When } from '../map/schema.ts';

export type Placed = Placement & { readonly when?: When };

function sharesBits(a: Placement, b: Placement): boolean {
  const bits = new Set(bitPositions(a));
  return bitPositions(b).some((bit) => bits.has(bit));
}

export const samePlace = (a: Placement, b: Placement): boolean => bitPositions(a).join() === bitPositions(b).join();

/** Two layouts that can never be on at once may use the same bits. */
export const collides = (a: Placed, b: Placed): boolean => canCoincide(a.when, b.when) && sharesBits(a, b);

/** Runs of neighbouring bits, each within one byte. */
function runsOf(bits: readonly number[]): { byte: number; bit: number; length: number }[] {
  const runs: { byte: number; bit: number; length: number }[] = [];
  for (const position of [...bits].sort((a, b) => a - b)) {
    const last = runs[runs.length - 1];
    const [byte, bit] = [position >> 3, position & 7];
    if (last && last.byte === byte && last.bit + last.length === bit) last.length++;
    else runs.push({ byte, bit, length: 1 });
  }
  return runs;
}

/** What is left of an unclaimed stretch when signals have taken their bits; itself where none has. */
export function leftUnclaimed(unclaimed: MapUnclaimed, signals: readonly MapSignal[]): MapUnclaimed[] {
  const taken = new Set(signals.filter(({ when }) => when === null).flatMap((signal) => bitPositions(signal)));
  const own = bitPositions(unclaimed);
  const left = own.filter((bit) => !taken.has(bit));
  if (left.length === own.length) return [unclaimed];
  const { reason } = unclaimed;
  return runsOf(left).map(({ byte, bit, length }) => ({ lsb: { byte, bit }, length, order: 'little', reason }));
}
