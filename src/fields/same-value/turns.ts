/**
 * Whether two fields that turn now and then (flags, states, values that move a handful of times) turn at the same moments: with one lag for
 * all, value to value. Each turn of one lies within a frame of its own before the frame that shows it, so the lag is bounded by
 * every pair of turns. Luck is counted over circular shifts, which keep clumps and rhythms: two blinking lamps beat alike.
 */
import type { ComparedField } from './series.ts';

export interface TurnTie {
  /** By how much the other shows a turn later than the base. */
  readonly lagUs: number;
  readonly lagSeUs: number;
  /** Moments at which both turned, turns within a moment counted once. */
  readonly n: number;
  /** Share of both fields' turns that have a partner. */
  readonly together: number;
  /** What the base and the other show at the same time: one to one. */
  readonly values: readonly (readonly [number, number])[];
  readonly p: number;
}

const LAG_MOST_US = 1_000_000;
const TURNS_MOST = 400;
const TOGETHER_LEAST = 0.9;
/** Four moments may fall together where a vehicle wakes and sleeps, whatever they mean. */
const MOMENTS_LEAST = 6;
const SHIFTS = 200;
/** Stamps of two frames sent at once may differ by so much more than the frames tell. */
const SLACK_US = 2_000;

interface Turns {
  /** [n] the middle between the last frame before and the frame that shows the turn, and half the time between them. */
  readonly atUs: Float64Array;
  readonly halfUs: Float64Array;
}

/** After a silence only so much of it counts: the turn was sent when it came. */
const GAP_PERIODS = 1.5;

function turnsOf({ series: { timeUs }, changes, periodUs }: ComparedField): Turns {
  const halfUs = Float64Array.from(
    changes,
    (row) => Math.min((timeUs[row] as number) - (timeUs[row - 1] as number), GAP_PERIODS * periodUs) / 2,
  );
  return { atUs: Float64Array.from(changes, (row, k) => (timeUs[row] as number) - (halfUs[k] as number)), halfUs };
}

/** Turns moved on by so much, those beyond the end coming in at the start. */
function shifted({ atUs, halfUs }: Turns, byUs: number, lengthUs: number): Turns {
  const first = atUs.findIndex((each) => each + byUs >= lengthUs);
  const order = Array.from(atUs, (_, k) => (first < 0 ? k : (first + k) % atUs.length));
  return {
    atUs: Float64Array.from(order, (k) => ((atUs[k] as number) + byUs) % lengthUs),
    halfUs: Float64Array.from(order, (k) => halfUs[k] as number),
  };
}

/** [base turns] the other's turn that is its partner at a lag; -1 for none. Both in time order, each used once. */
function partners(base: Turns, other: Turns, lagUs: number): Int32Array {
  const out = new Int32Array(base.atUs.length).fill(-1);
  let next = 0;
  base.atUs.forEach((atUs, i) => {
    for (; next < other.atUs.length; next++) {
      const half = (base.halfUs[i] as number) + (other.halfUs[next] as number) + SLACK_US;
      const apart = (other.atUs[next] as number) - lagUs - atUs;
      if (apart > half) return;
      if (apart < -half) continue;
      out[i] = next++;
      return;
    }
  });
  return out;
}

const matched = (found: Int32Array): number => found.reduce((sum, partner) => sum + (partner >= 0 ? 1 : 0), 0);

/** Lags worth a try: differences between turns that many pairs share. */
function lagsTold(base: Turns, other: Turns): number[] {
  const binUs = Math.max(5_000, 2 * (base.halfUs[0] ?? 0), 2 * (other.halfUs[0] ?? 0));
  const counts = new Map<number, number>();
  let from = 0;
  for (const atUs of base.atUs) {
    while (from < other.atUs.length && (other.atUs[from] as number) < atUs - LAG_MOST_US) from++;
    for (let k = from; k < other.atUs.length && (other.atUs[k] as number) <= atUs + LAG_MOST_US; k++) {
      const bin = Math.round(((other.atUs[k] as number) - atUs) / binUs);
      counts.set(bin, (counts.get(bin) ?? 0) + 1);
    }
  }
  const most = [...counts].sort((a, b) => b[1] - a[1] || Math.abs(a[0]) - Math.abs(b[0])).slice(0, 3);
  return most.map(([bin]) => bin * binUs);
}

interface Aligned {
  readonly lagUs: number;
  readonly found: Int32Array;
  readonly count: number;
}

function align(base: Turns, other: Turns): Aligned | null {
  let best: Aligned | null = null;
  for (const lagUs of lagsTold(base, other)) {
    const found = partners(base, other, lagUs);
    const count = matched(found);
    if (!best || count > best.count) best = { lagUs, found, count };
  }
  return best;
}

/** The mean difference of partners and its error: each is known to half a frame of both. */
function lagOf(base: Turns, other: Turns, found: Int32Array): { lagUs: number; lagSeUs: number } {
  const differences: number[] = [];
  found.forEach((partner, i) => {
    if (partner >= 0) differences.push((other.atUs[partner] as number) - (base.atUs[i] as number));
  });
  const n = differences.length;
  const lagUs = differences.reduce((sum, each) => sum + each / n, 0);
  const squares = differences.reduce((sum, each) => sum + (each - lagUs) ** 2, 0);
  return { lagUs, lagSeUs: Math.max(500, Math.sqrt(squares / Math.max(1, n - 1) / n)) };
}

/** Turns further apart than both fields' frames are moments of their own. */
function momentsOf(base: Turns, other: Turns, found: Int32Array): number {
  let [moments, lastUs] = [0, -Infinity];
  found.forEach((partner, i) => {
    if (partner < 0) return;
    const atUs = base.atUs[i] as number;
    const widthUs = 2 * ((base.halfUs[i] as number) + (other.halfUs[partner] as number)) + 10 * SLACK_US;
    if (atUs - lastUs > widthUs) moments++;
    lastUs = atUs;
  });
  return moments;
}

/** Values after partnered turns, each with the one that it goes with most often, one to one; null where too many turns do not fit. */
function valuesOf(base: ComparedField, other: ComparedField, found: Int32Array): [number, number][] | null {
  const counts = new Map<string, { readonly x: number; readonly y: number; count: number }>();
  found.forEach((partner, i) => {
    if (partner < 0) return;
    const x = base.series.value[base.changes[i] as number] as number;
    const y = other.series.value[other.changes[partner] as number] as number;
    const cell = counts.get(`${x} ${y}`) ?? { x, y, count: 0 };
    cell.count++;
    counts.set(`${x} ${y}`, cell);
  });
  const pairs = new Map<number, number>();
  const used = new Set<number>();
  let fitting = 0;
  for (const { x, y, count } of [...counts.values()].sort((a, b) => b.count - a.count)) {
    if (pairs.has(x) || used.has(y)) continue;
    pairs.set(x, y);
    used.add(y);
    fitting += count;
  }
  if (pairs.size < 2 || fitting < TOGETHER_LEAST * matched(found)) return null;
  return [...pairs].sort((a, b) => a[0] - b[0]);
}

/**
 * The chance of so many partners: by the share of turns that have one at other shifts, a little more than its mean, each moment for itself; but
 * never below the share of shifts that do as well, for two that beat alike have all partners or none. Lags tried count.
 */
function chanceOf(base: Turns, other: Turns, aligned: Aligned, moments: number, lengthUs: number): number {
  let [sum, squares, asMany] = [0, 0, 0];
  for (let k = 1; k <= SHIFTS; k++) {
    const moved = shifted(other, ((k - 0.5) / SHIFTS) * lengthUs, lengthUs);
    const count = matched(partners(base, moved, aligned.lagUs));
    const share = count / base.atUs.length;
    sum += share;
    squares += share ** 2;
    if (count >= TOGETHER_LEAST * aligned.count) asMany++;
  }
  const mean = sum / SHIFTS;
  const spread = Math.sqrt(Math.max(0, squares / SHIFTS - mean ** 2));
  const share = Math.min(0.99, Math.max(1 / SHIFTS, mean + spread));
  const widthUs = 2 * ((base.halfUs[0] ?? 0) + (other.halfUs[0] ?? 0) + SLACK_US);
  const independent = share ** moments * Math.max(1, (2 * LAG_MOST_US) / widthUs);
  return Math.min(1, Math.max(independent, asMany / SHIFTS));
}

/** lengthUs: of the capture. null where turns do not fall together, or too few do. */
export function tieTurns(base: ComparedField, other: ComparedField, lengthUs: number): TurnTie | null {
  const [few, many] = [base.changes.length, other.changes.length].sort((a, b) => a - b) as [number, number];
  if (few < MOMENTS_LEAST || many > TURNS_MOST || few < TOGETHER_LEAST * many) return null;
  const [turns, others] = [turnsOf(base), turnsOf(other)];
  const aligned = align(turns, others);
  if (!aligned || aligned.count < TOGETHER_LEAST * many) return null;
  const { lagUs, lagSeUs } = lagOf(turns, others, aligned.found);
  const values = valuesOf(base, other, aligned.found);
  const n = momentsOf(turns, others, aligned.found);
  if (!values || n < MOMENTS_LEAST) return null;
  const p = chanceOf(turns, others, aligned, n, lengthUs);
  return { lagUs, lagSeUs, n, together: (2 * aligned.count) / (few + many), values, p };
}
