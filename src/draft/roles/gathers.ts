/**
 * Whether a field is the sum over time of what another shows: speed of torque, charge of current. Such a field is what a plant has become and
 * no command: its change goes with the other's level. Told by rank correlation, as neither scale nor zero need be known.
 */
import { ValueReader } from '../../fields/same-value/pairs.ts';
import { signatureOf } from '../../fields/same-value/series.ts';
import { fisherOf } from '../../kit/statistics/correlation.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import type { Prepared } from './prepared.ts';

/** Changes over shorter times are mostly rounding, over longer ones mostly of other causes. */
const WINDOW_US = 500_000;
const INSTANTS_MOST = 1500;
/** Commands go with some level by 0.4 at most; sums that brakes and hills disturb still by more than half. */
const GATHERS = 0.5;

/** What shows the same a moment later goes with changes as well, but with levels more. */
const BEYOND_LEVELS = 0.2;

/** Luck finds something for each field among all others: that it does so for one must be this seldom. */
const CHANCE_MOST = 0.01;
/** Shifts nearer than this are the tie itself, blurred. */
const NEAR_US = 4_000_000;
const SHIFTS_LEAST = 20;
const SHIFTS_MOST = 300;

/** Rank correlation of two signatures; the second so many points later, in a circle. */
export function togetherOf(a: Float32Array, b: Float32Array, shift = 0): number {
  let sum = 0;
  for (let k = 0, j = shift; k < a.length; k++, j = j + 1 === b.length ? 0 : j + 1)
    sum += (a[k] as number) * (b[j] as number);
  return sum;
}

const fisher = (r: number): number => fisherOf(r, 0.9999);

/** Two-sided p against circular shifts, which keep each one's memory: a normal's tail of Fisher's 1915 transform with the spread of the shifts. */
function chanceOf(a: Float32Array, b: Float32Array, near: number): number {
  const every = Math.max(1, Math.floor((a.length - 2 * near) / SHIFTS_MOST));
  let [count, squares] = [0, 0];
  for (let shift = near; shift < a.length - near; shift += every) {
    squares += fisher(togetherOf(a, b, shift)) ** 2;
    count++;
  }
  if (count < SHIFTS_LEAST) return 1;
  const spread = Math.max(1 / Math.sqrt(a.length), Math.sqrt(squares / count));
  return Math.min(1, 2 * normalBelow(-Math.abs(fisher(togetherOf(a, b))) / spread));
}

export interface Gathering {
  readonly of: Prepared;
  readonly rho: number;
}

const grid = (lengthUs: number): { stepUs: number; points: number } => {
  const stepUs = Math.max(WINDOW_US / 2, lengthUs / INSTANTS_MOST);
  return { stepUs, points: Math.max(0, Math.floor((lengthUs - WINDOW_US) / stepUs)) };
};

function changesOver({ field }: Prepared, lengthUs: number): Float32Array {
  const { stepUs, points } = grid(lengthUs);
  const [from, to] = [new ValueReader(field, 'value'), new ValueReader(field, 'value')];
  return signatureOf(
    Float64Array.from({ length: points }, (_, k) => to.at(k * stepUs + WINDOW_US) - from.at(k * stepUs)),
  );
}

function levelsAmid({ field }: Prepared, lengthUs: number): Float32Array {
  const { stepUs, points } = grid(lengthUs);
  const reader = new ValueReader(field, 'value');
  return signatureOf(Float64Array.from({ length: points }, (_, k) => reader.at(k * stepUs + WINDOW_US / 2)));
}

/** Of a capture's numbers; remembers what it worked out of each field. */
export class Gatherings {
  private readonly levels = new Map<Prepared, Float32Array>();
  private readonly changes = new Map<Prepared, Float32Array>();
  private readonly told = new Map<Prepared, Gathering | null>();
  constructor(
    private readonly numbers: readonly Prepared[],
    private readonly lengthUs: number,
  ) {}

  /** What the field is the sum of, most plainly; null where nothing is. */
  of(field: Prepared): Gathering | null {
    const known = this.told.get(field);
    if (known !== undefined) return known;
    const found = this.search(field);
    this.told.set(field, found);
    return found;
  }

  /** Rank correlation of the one's changes with the other's levels. */
  private sumOf(field: Prepared, other: Prepared): number {
    const changes = this.changes.get(field) ?? changesOver(field, this.lengthUs);
    this.changes.set(field, changes);
    const levels = this.levels.get(other) ?? levelsAmid(other, this.lengthUs);
    this.levels.set(other, levels);
    return togetherOf(changes, levels);
  }

  /** Of two of which each goes with the other's changes, as a torque that is taken back from a speed, only the plainer is the sum. */
  private search(field: Prepared): Gathering | null {
    let best: Gathering | null = null;
    for (const other of this.numbers) {
      if (other === field) continue;
      const rho = this.sumOf(field, other);
      if (Math.abs(rho) <= Math.abs(best?.rho ?? 0)) continue;
      if (Math.abs(rho) <= Math.abs(togetherOf(field.levels, other.levels)) + BEYOND_LEVELS) continue;
      if (Math.abs(rho) > Math.abs(this.sumOf(other, field))) best = { of: other, rho };
    }
    return best && Math.abs(best.rho) >= GATHERS && this.isBeyondChance(field, best.of) ? best : null;
  }

  /** Over all that it was held against. */
  private isBeyondChance(field: Prepared, other: Prepared): boolean {
    const [changes, levels] = [this.changes.get(field), this.levels.get(other)] as [Float32Array, Float32Array];
    const near = Math.ceil(NEAR_US / grid(this.lengthUs).stepUs);
    return chanceOf(changes, levels, near) * this.numbers.length <= CHANCE_MOST;
  }
}
