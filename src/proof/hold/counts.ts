/** A signal's values over a capture in even counts, as fits to readings want them, with the line that the map draws through them. */
import { extent } from '../../kit/statistics/order.ts';
import { layOnGrid, type FieldGrid } from '../../reference/field-grid.ts';
import type { HeldSignal } from './held-signal.ts';
import { signalValues } from './signal-values.ts';

export interface Counts {
  readonly grid: FieldGrid;
  /** Physical value of one count, and of count 0, as the map says. */
  readonly scale: number;
  readonly offset: number;
}

/** A float has no counts: so many over its range stand for them. */
const FLOAT_COUNTS = 4096;

const rangeOf = (values: Float64Array): number => {
  const { least, most } = extent(values);
  return most - least;
};

/** Physical value of one count: of a table its mean slope. */
function countOf({ compiled: { signal } }: HeldSignal, physical: Float64Array): number {
  const [first, last] = [signal.table?.[0], signal.table?.at(-1)];
  if (first && last && last[0] !== first[0]) return (last[1] - first[1]) / (last[0] - first[0]);
  return signal.coding === 'float' ? rangeOf(physical) / FLOAT_COUNTS : signal.scale;
}

/** Null where it never moves. */
function countsOf(held: HeldSignal, durationS: number): Counts | null {
  const { compiled, stream } = held;
  const { rows, raws } = signalValues(compiled, stream);
  const all = Float64Array.from(raws, compiled.physicalOf);
  const known = [...all.keys()].filter((i) => !Number.isNaN(all[i] as number));
  const physical = Float64Array.from(known, (i) => all[i] as number);
  const timeUs = Float64Array.from(known, (i) => stream.timeUs[rows[i] as number] as number);
  const scale = countOf(held, physical);
  if (physical.length < 2 || !(rangeOf(physical) > 0) || !(Math.abs(scale) > 0)) return null;
  const offset = compiled.signal.table ? 0 : compiled.signal.offset;
  const value = physical.map((each) => (each - offset) / scale);
  return { grid: layOnGrid({ timeUs, value }, compiled.signal.coding, durationS), scale, offset };
}

export type CountsFor = (held: HeldSignal) => Counts | null;

/** Reads each signal's counts once, whoever asks: null where it never moves. */
export function countsReader(durationS: number): CountsFor {
  const known = new Map<HeldSignal, Counts | null>();
  return (held) => {
    if (!known.has(held)) known.set(held, countsOf(held, durationS));
    return known.get(held) ?? null;
  };
}

/** The same counts from another zero, so that a line's offset is its height there. */
export const countedFrom = ({ grid, scale, offset }: Counts, zero: number): Counts => ({
  grid: {
    ...grid,
    value: grid.value.map((each) => each - zero),
    series: { ...grid.series, value: grid.series.value.map((each) => each - zero) },
  },
  scale,
  offset: offset + zero * scale,
});
