/** What a veteran's frames show against what went on. */
import type { Slot } from './layout.ts';
import { holdsOn, numberOf, readBits, rowBytes } from './read-back.ts';
import type { Heard } from './run.ts';
import type { Trip } from './trip.ts';

export interface Row {
  readonly bytes: readonly number[];
  readonly timeS: number;
}

export const rowsOf = ({ stream }: Heard, every = 1): Row[] =>
  Array.from({ length: Math.ceil(stream.count / every) }, (_, at) => ({
    bytes: rowBytes(stream, at * every),
    timeS: stream.timeUs[at * every]! / 1e6,
  }));

/** Late by no more than this beside ten frames, off by no more than so many steps. */
const LATE_S = 0.35;
const OFF_STEPS = 8;

/** Share of frames, without those that say that it is not known, whose number was that of its column a while before, or the least there is where that was below; null where there are none. */
export function shareShown(
  { place, on, recipe }: Slot,
  rows: readonly Row[],
  periodS: number,
  { columns }: Trip,
): number | null {
  const { step, offset } = recipe.scale!;
  const column = columns.get(recipe.model);
  const own = rows.filter(({ bytes }) => holdsOn(bytes, on) && readBits(bytes, place) !== recipe.filled);
  if (own.length === 0) return null;
  const right = own.filter(({ bytes, timeS }) => {
    const value = numberOf(readBits(bytes, place), recipe.coding, place.length) * step + offset;
    const before = column.subarray(columns.rowAt(timeS - LATE_S - 10 * periodS), columns.rowAt(timeS) + 1);
    const off = Math.max(OFF_STEPS * step, 1e-3 * Math.abs(value));
    const isLeast = value === offset && Math.min(...before) < offset;
    return isLeast || (value >= Math.min(...before) - off && value <= Math.max(...before) + off);
  });
  return right.length / own.length;
}

/** Share of frames whose states are, each by one code, what went on at some instant shortly before; null where less than two are shown. */
export function shareOfStates(
  { place, on, recipe }: Slot,
  rows: readonly Row[],
  periodS: number,
  { columns }: Trip,
): number | null {
  const column = columns.get(recipe.watches[0]!);
  const own = rows
    .filter(({ bytes }) => holdsOn(bytes, on))
    .map(({ bytes, timeS }) => ({
      raw: readBits(bytes, place),
      before: new Set(column.subarray(columns.rowAt(timeS - LATE_S - 10 * periodS), columns.rowAt(timeS) + 1)),
    }))
    .filter(({ raw }) => raw !== recipe.filled);
  const raws = [...new Set(own.map(({ raw }) => raw))];
  if (raws.length < 2) return null;
  const right = raws.map((raw) => {
    const here = own.filter((each) => each.raw === raw);
    const states = [...new Set(here.flatMap(({ before }) => [...before]))];
    return Math.max(...states.map((state) => here.filter(({ before }) => before.has(state)).length));
  });
  return right.reduce((sum, count) => sum + count, 0) / own.length;
}

/** [bytes] bits that are not the same on all of these. */
export const movedOn = (rows: readonly Row[]): number[] =>
  rows[0]!.bytes.map((first, at) => rows.reduce((moved, { bytes }) => moved | (bytes[at]! ^ first), 0));
