/** Where a field moves: the stretches of a capture that tell a lag, and the instants in them at which its value is known to be fresh. */
import type { ComparedField } from '../../fields/same-value/series.ts';

/** Long enough to hold an answer and short enough that many are independent of each other. */
const STRETCH_US = 2_000_000;
const INSTANTS_MOST = 4000;
const STRETCHES_MOST = 60;

export interface Instants {
  /** [n] ascending. */
  readonly timeUs: Float64Array;
  readonly value: Float64Array;
  /** [n] which stretch, 0..stretches-1. */
  readonly stretch: Uint16Array;
  readonly stretches: number;
  /** Root mean square of its pace there, raw values a microsecond. */
  readonly slope: number;
  /** Which stretches of the capture these are. */
  readonly moving: ReadonlySet<number>;
}

/** How far the value goes to and fro in each stretch, lone bad readings limited to what half the others reach together. */
function travelOf({ timeUs, value }: ComparedField['knots']): Map<number, number> {
  const travel = new Map<number, { least: number; greatest: number }>();
  for (let k = 0; k < timeUs.length; k++) {
    const here = value[k] as number;
    if (Number.isNaN(here)) continue;
    const stretch = Math.floor((timeUs[k] as number) / STRETCH_US);
    const seen = travel.get(stretch);
    if (!seen) travel.set(stretch, { least: here, greatest: here });
    else {
      seen.least = Math.min(seen.least, here);
      seen.greatest = Math.max(seen.greatest, here);
    }
  }
  return new Map([...travel].map(([stretch, { least, greatest }]) => [stretch, greatest - least]));
}

/** Frames of a silence are no neighbours. */
const NEIGHBOURS = 4;

/** Sizes of the second differences of frames so far apart, in the stretches that instants were taken from. */
export function bendsOf(
  { series, periodUs }: ComparedField,
  moving: ReadonlySet<number>,
  apartUs: number,
): Float64Array {
  const { timeUs, value } = series;
  const apart = Math.max(1, Math.round(apartUs / periodUs));
  const bends: number[] = [];
  for (let row = 2 * apart; row < value.length; row++) {
    const [first, last] = [timeUs[row - 2 * apart] as number, timeUs[row] as number];
    if (!moving.has(Math.floor(last / STRETCH_US)) || last - first > NEIGHBOURS * apartUs) continue;
    const [a, b, c] = [value[row - 2 * apart], value[row - apart], value[row]] as [number, number, number];
    bends.push(Math.abs(c - 2 * b + a));
  }
  return Float64Array.from(bends);
}

function slopeOf({ timeUs, value }: ComparedField['knots'], rows: readonly number[]): number {
  let [squares, total] = [0, 0];
  for (let i = 1; i < rows.length; i++) {
    const [a, b] = [rows[i - 1] as number, rows[i] as number];
    const tookUs = (timeUs[b] as number) - (timeUs[a] as number);
    if (b !== a + 1 || !(tookUs > 0)) continue;
    squares += ((value[b] as number) - (value[a] as number)) ** 2 / tookUs;
    total += tookUs;
  }
  return total > 0 ? Math.sqrt(squares / total) : 0;
}

/** While a value rests for longer than so many refreshes, it is known all along. */
const RESTS = 4;

/** Fresh values, and those at rest between them: what mostly rests would else be told by its changes alone. */
function withRests({ timeUs, value }: ComparedField['knots'], refreshUs: number): ComparedField['knots'] {
  const [at, shown]: [number[], number[]] = [[], []];
  for (let k = 0; k < timeUs.length; k++) {
    const [hereUs, here] = [timeUs[k] as number, value[k] as number];
    const [lastUs, last] = [at.at(-1), shown.at(-1)];
    if (lastUs !== undefined && last === here && !Number.isNaN(here))
      for (let us = lastUs + RESTS * refreshUs; us < hereUs; us += RESTS * refreshUs) {
        at.push(us);
        shown.push(here);
      }
    at.push(hereUs);
    shown.push(here);
  }
  const known = Float64Array.from(shown);
  return { timeUs: Float64Array.from(at), value: known, place: known };
}

/** Those of its instants that are taken, asked in ascending order. */
function some(knots: ComparedField['knots'], isTaken: (atUs: number) => boolean): ComparedField['knots'] {
  const rows = Array.from(knots.timeUs.keys()).filter((k) => isTaken(knots.timeUs[k] as number));
  const timeUs = Float64Array.from(rows, (k) => knots.timeUs[k] as number);
  const value = Float64Array.from(rows, (k) => knots.value[k] as number);
  return { timeUs, value, place: value };
}

/** Instants of the stretches in which the field goes farthest, of all or of those taken. Deterministic; linear in the field's knots. */
export function movingInstants(
  field: ComparedField,
  refreshUs: number,
  isTaken: ((atUs: number) => boolean) | null = null,
): Instants {
  const all = withRests(field.knots, refreshUs);
  const knots = isTaken ? some(all, isTaken) : all;
  const { timeUs, value } = knots;
  const chosen = [...travelOf(knots)]
    .filter(([, travel]) => travel > 0)
    .sort((a, b) => b[1] - a[1] || a[0] - b[0])
    .slice(0, STRETCHES_MOST)
    .map(([stretch]) => stretch)
    .sort((a, b) => a - b);
  const place = new Map(chosen.map((stretch, index) => [stretch, index]));
  const rows: number[] = [];
  for (let k = 0; k < timeUs.length; k++)
    if (!Number.isNaN(value[k] as number) && place.has(Math.floor((timeUs[k] as number) / STRETCH_US))) rows.push(k);
  const every = Math.max(1, Math.ceil(rows.length / INSTANTS_MOST));
  const kept = rows.filter((_, i) => i % every === 0);
  return {
    timeUs: Float64Array.from(kept, (k) => timeUs[k] as number),
    value: Float64Array.from(kept, (k) => value[k] as number),
    stretch: Uint16Array.from(kept, (k) => place.get(Math.floor((timeUs[k] as number) / STRETCH_US)) as number),
    stretches: chosen.length,
    slope: slopeOf(knots, rows),
    moving: new Set(chosen),
  };
}

/** What a change is answered by comes within this, and what was there before it is known so long. */
export const ANSWER_US = 2_000_000;
const BEFORE_US = 300_000;

/** Instants of a follower about each change of what is set, up to the next change. The stretches are these changes. */
export function instantsAbout(changesUs: readonly number[], field: ComparedField, refreshUs: number): Instants {
  const { timeUs, value } = withRests(field.knots, refreshUs);
  const [at, shown, which]: [number[], number[], number[]] = [[], [], []];
  let k = 0;
  changesUs.forEach((changeUs, event) => {
    const untilUs = Math.min(changeUs + ANSWER_US, (changesUs[event + 1] ?? Infinity) - BEFORE_US);
    while (k < timeUs.length && (timeUs[k] as number) < changeUs - BEFORE_US) k++;
    for (; k < timeUs.length && (timeUs[k] as number) < untilUs; k++) {
      if (Number.isNaN(value[k] as number)) continue;
      at.push(timeUs[k] as number);
      shown.push(value[k] as number);
      which.push(event);
    }
  });
  return {
    timeUs: Float64Array.from(at),
    value: Float64Array.from(shown),
    stretch: Uint16Array.from(which),
    stretches: changesUs.length,
    slope: 0,
    moving: new Set(),
  };
}
