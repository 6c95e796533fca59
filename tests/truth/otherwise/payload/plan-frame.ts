/** Lays out one frame: guards, selectors, then values of each page and of all pages, ciphertext and fillings in what is left. */
import type { ByteOrder, Piece } from '../../../../src/frames/bits.ts';
import type { Random } from '../../../../src/kit/random.ts';
import type { Presence } from '../../fields-truth.ts';
import { FreeBits, type Packing } from './free-bits.ts';
import { planGuard, type GuardHabit, type GuardPlan } from './guards.ts';
import { drawPages, type PagesPlan } from './pages.ts';
import type { SourcePlan } from './sources.ts';
import {
  drawFlags,
  drawNumber,
  drawRising,
  drawSeldom,
  drawStates,
  type ValueHabits,
  type ValuePlan,
} from './values.ts';

export interface SenderHabits extends ValueHabits {
  readonly order: ByteOrder | 'mixed';
  readonly packing: Packing;
  readonly filling: number;
  readonly guard: GuardHabit | null;
  readonly fd: boolean;
  /** Seconds for which its values say "no data" after the start. */
  readonly startsS: number;
}

export interface PlacedValue {
  readonly place: Piece;
  readonly on: Presence;
  /** The page that holds it, or -1 for all. */
  readonly page: number;
  readonly value: ValuePlan;
}

export interface FramePlan {
  readonly id: number;
  readonly extended: boolean;
  readonly bus: string;
  readonly fd: boolean;
  readonly bytes: number;
  readonly periodMs: number;
  readonly habits: SenderHabits;
  readonly guards: readonly GuardPlan[];
  /** Pages that carry the guards; null: all. */
  readonly guardedPages: readonly number[] | null;
  readonly pages: PagesPlan | null;
  readonly values: readonly PlacedValue[];
  readonly cipher: readonly number[];
}

export interface FrameWish {
  readonly id: number;
  readonly extended: boolean;
  readonly bus: string;
  readonly paged: boolean;
  readonly ciphered: boolean;
}

const PERIODS_MS = [10, 10, 20, 20, 20, 40, 50, 100, 100, 200, 500];

/** Tags that no rule explains are told apart by content that comes again. */
const isSlow = (guard: GuardHabit | null): boolean => guard?.kind === 'keyed' || guard?.kind === 'odd';

function drawValues(
  random: Random,
  sources: readonly SourcePlan[],
  habits: SenderHabits,
  periodMs: number,
): ValuePlan[] {
  const chance = random.next();
  if (chance < 0.12) return drawFlags(random);
  if (chance < 0.27) return [drawStates(random)];
  if (chance < 0.37) return [drawSeldom(random)];
  if (isSlow(habits.guard)) return [random.pick([drawStates(random), drawSeldom(random)])];
  return chance < 0.43 ? [drawRising(random, periodMs)] : [drawNumber(random, sources, habits)];
}

interface Filling {
  readonly random: Random;
  readonly habits: SenderHabits;
  readonly sources: readonly SourcePlan[];
  readonly periodMs: number;
}

/** Places values until so many bits are taken or nothing fits. */
function fill(
  to: FreeBits,
  { random, habits, sources, periodMs }: Filling,
  share: number,
  on: Presence,
  page: number,
): PlacedValue[] {
  const placed: PlacedValue[] = [];
  const most = share * to.bytes * 8;
  for (let tries = 0; tries < 3 * to.bytes && to.taken.size < most; tries++) {
    for (const value of drawValues(random, sources, habits, periodMs)) {
      const order = habits.order === 'mixed' ? random.pick(['little', 'big'] as const) : habits.order;
      const packing = value.length === 1 ? 'close' : habits.packing;
      const place = to.place(random, value.length, order, packing);
      if (place) placed.push({ place, on, page, value });
    }
  }
  return placed;
}

function planGuards(random: Random, habits: SenderHabits, id: number, bytes: number): GuardPlan[] {
  const { guard } = habits;
  if (!guard || bytes < 4 + guard.width / 8) return [];
  if (bytes < 24 || random.next() < 0.5 || guard.kind === 'keyed' || guard.kind === 'odd')
    return [planGuard(random, guard, id, 0, bytes, bytes)];
  return [0, bytes / 2].map((from) => planGuard(random, guard, id + from, from, bytes / 2, bytes));
}

function textBytes(random: Random, bits: FreeBits): Piece | null {
  const byte = bits.wholeFreeBytes().find((each, index, all) => all[index + 2] === each + 2);
  if (byte === undefined || random.next() < 0.6) return null;
  return bits.take({ lsb: { byte: byte + 2, bit: 0 }, length: 24, order: 'big' });
}

function textValue(random: Random): ValuePlan {
  const raw = [0, 8, 16].reduce((sum, shift) => sum + (48 + random.below(43)) * 2 ** shift, 0);
  return {
    length: 24,
    coding: 'text',
    kind: 'text',
    model: 'text over pages',
    quantity: null,
    kin: null,
    blurred: false,
    run: (_, timesS) => new Float64Array(timesS.length).fill(raw),
  };
}

/** With pages the same place is planned for each of them: what is common goes where no page has anything. */
function planValues(random: Random, bits: FreeBits, pages: PagesPlan | null, filling: Filling): PlacedValue[] {
  if (!pages) return fill(bits, filling, random.between(0.6, 1), [], -1);
  const text = textBytes(random, bits);
  const common = random.next() < 0.5 ? fill(bits, filling, random.between(0.35, 0.55), [], -1) : [];
  const paged = pages.pages.flatMap(({ on }, page) => {
    const own = bits.copy();
    for (const { place } of pages.selectors) own.take(place);
    const values = fill(own, filling, random.between(0.7, 1), on, page);
    return text ? [...values, { place: text, on, page, value: textValue(random) }] : values;
  });
  return [...common, ...paged];
}

function cipherBytes(random: Random, bits: FreeBits): number[] {
  const free = bits.wholeFreeBytes();
  const from = random.below(2);
  const chosen = free.slice(from, from + 3 + random.below(Math.max(1, free.length - 2)));
  for (const byte of chosen) bits.take({ lsb: { byte, bit: 0 }, length: 8, order: 'little' });
  return chosen;
}

export function planFrame(
  random: Random,
  wish: FrameWish,
  habits: SenderHabits,
  sources: readonly SourcePlan[],
): FramePlan {
  const bytes = habits.fd ? random.pick([12, 16, 20, 24, 32, 48, 64]) : random.pick([8, 8, 8, 8, 8, 7, 6, 5]);
  const periodMs = random.pick(PERIODS_MS);
  const bits = new FreeBits(bytes);
  const guards = wish.ciphered ? [] : planGuards(random, habits, wish.id & 0xffff, bytes);
  for (const { place, counter } of guards) [place, counter].forEach((piece) => bits.take(piece));
  const pages = wish.paged ? drawPages(random, bits) : null;
  const cipher = wish.ciphered ? cipherBytes(random, bits) : [];
  const values = planValues(random, bits, pages, { random, habits, sources, periodMs });
  const some = pages && guards.length > 0 && random.next() < 0.3;
  const guardedPages = some
    ? pages.pages.flatMap((_, page) => (page === 0 || random.next() < 0.5 ? [page] : []))
    : null;
  const { id, extended, bus } = wish;
  return { id, extended, bus, fd: habits.fd, bytes, periodMs, habits, guards, guardedPages, pages, values, cipher };
}
