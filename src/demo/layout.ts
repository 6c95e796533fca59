/** Lays out one frame: guards first, then the selector, then fields in the supplier's order, then what fills the rest. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { MapSelector, MapSignal, MapUnclaimed } from '../map/schema.ts';
import { fieldOf, planField, signalOf, type FieldPlan } from './fields.ts';
import { NO_GUARD, planGuard, type GuardPlan } from './guards.ts';
import type { Habits } from './habits.ts';
import { Room } from './packing.ts';
import { planPages } from './page-themes.ts';
import type { QuantityName } from './quantities.ts';
import type { Topic } from './topics.ts';
import { mapPiece, type TrueField } from './true-frame.ts';

export interface Layout {
  readonly length: number;
  readonly signals: readonly MapSignal[];
  readonly fields: readonly TrueField[];
  readonly selectors: readonly MapSelector[];
  readonly pages: readonly number[];
  readonly guard: GuardPlan;
  readonly unclaimed: readonly MapUnclaimed[];
  readonly base: Uint8Array;
  readonly noise: readonly number[];
}

export interface LayoutRequest {
  readonly topics: readonly Topic[];
  readonly habits: Habits;
  readonly id: number;
  readonly fd: boolean;
  readonly cells: number;
  readonly noiseShare: number;
  readonly title: string;
  readonly scales: Partial<Record<QuantityName, number>>;
}

const FD_LENGTHS = [12, 16, 20, 24, 32, 48, 64];
const GUARD_AND_SLACK_BITS = 20;

interface Draft {
  readonly signals: MapSignal[];
  readonly fields: TrueField[];
}

/** Places what fits, in the order given; what finds no room is left out of the vehicle. */
function placeAll(room: Room, plans: readonly FieldPlan[], draft: Draft, page: number | null): void {
  for (const plan of plans) {
    const placement = (plan.split ? room.placeSplit(plan.length) : null) ?? placeOne(room, plan);
    if (!placement) continue;
    draft.signals.push(signalOf(plan, placement, page === null ? null : { page: [page] }));
    draft.fields.push(fieldOf(plan, page));
  }
}

function placeOne(room: Room, plan: FieldPlan): Piece | null {
  const { length, order, step } = plan;
  const piece = room.place(length, order, step) ?? room.place(length, order, 1) ?? room.place(length, other(order), 1);
  if (!piece) return null;
  return piece.lsb.bit + piece.length <= 8 ? { ...piece, order: 'little' } : piece;
}

const other = (order: ByteOrder): ByteOrder => (order === 'little' ? 'big' : 'little');

function drawSelector(
  random: Random,
  habits: Habits,
  room: Room,
  pages: number,
): { selector: MapSelector; values: number[] } {
  const bits = Math.max(2, Math.ceil(Math.log2(pages + 1)));
  const length = random.pick([bits, bits, 8]);
  const piece = room.place(length, habits.order === 'big' ? 'big' : 'little', length === 8 ? 8 : 1) as Piece;
  const start = random.next() < 0.3 ? 1 : 0;
  const values = Array.from({ length: pages }, (_, page) => start + page);
  return { selector: { name: 'page', ...mapPiece(piece), confidence: 1 }, values };
}

function bytesFor(random: Random, bits: number, fd: boolean): number {
  const least = Math.ceil(bits / 8);
  if (fd) return FD_LENGTHS.find((length) => length >= least + 1) ?? 64;
  return random.next() < 0.75 ? 8 : Math.max(2, Math.min(8, least));
}

function planGuards(random: Random, request: LayoutRequest, length: number): GuardPlan {
  const { habits, id, topics } = request;
  const small = topics.every(({ kind }) => kind === 'on-change');
  if (small || length < 4 || random.next() > habits.guard.share) return NO_GUARD;
  const ciphered = topics.some(({ cipherBytes }) => cipherBytes);
  if (ciphered) return NO_GUARD;
  if (!request.fd || length < 24) return planGuard(random, habits.guard, id, 0, length, 'alive');
  return planTwoGuards(random, request, length);
}

/** Long CAN FD frames carry two groups, each with its own counter and checksum. */
function planTwoGuards(random: Random, { habits, id }: LayoutRequest, length: number): GuardPlan {
  const first = planGuard(random, habits.guard, id, 0, length / 2, 'alive');
  if (first.tag) return first;
  const second = planGuard(random, habits.guard, id, length / 2, length / 2, 'alive_2');
  return {
    counters: [...first.counters, ...second.counters],
    checksums: [...first.checksums, ...second.checksums.map(withoutTable)],
    tag: null,
    pieces: [...first.pieces, ...second.pieces],
  };
}

/** Tables are indexed by a frame's first counter; the second group of a frame gets a plain constant instead. */
function withoutTable(checksum: GuardPlan['checksums'][number]): GuardPlan['checksums'][number] {
  const { suffixByCounter, ...rest } = checksum;
  return suffixByCounter ? ({ ...rest, suffix: suffixByCounter[0] } as typeof checksum) : checksum;
}

/** Unused bits: zeros, ones or some constant, as the supplier does; now and then a byte of noise, or the cipher's bytes. */
function fillRest(
  random: Random,
  room: Room,
  request: LayoutRequest,
  base: Uint8Array,
): { unclaimed: MapUnclaimed[]; noise: number[] } {
  const noise: number[] = [];
  let cipher = request.topics.reduce((sum, { cipherBytes = 0 }) => sum + cipherBytes, 0);
  const unclaimed = room.gaps().map((gap): MapUnclaimed => {
    const whole = gap.length === 8;
    if (whole && (cipher > 0 || random.next() < request.noiseShare)) {
      noise.push(gap.lsb.byte);
      return { ...mapPiece(gap), reason: cipher-- > 0 ? 'cipher' : 'noise' };
    }
    const all = 2 ** gap.length - 1;
    const value = random.next() < 0.12 ? random.below(all + 1) : request.habits.filler === 1 ? all : 0;
    base[gap.lsb.byte] = (base[gap.lsb.byte] as number) | (value << gap.lsb.bit);
    return { ...mapPiece(gap), reason: value === 0 ? 'idle' : value === all && whole ? 'filling' : 'constant', value };
  });
  return { unclaimed, noise };
}

const delayOf = (random: Random, topic: Topic): number => (topic.delayed ? random.between(15, 90) : 0);
const bitsOf = (plans: readonly FieldPlan[]): number => plans.reduce((sum, { length }) => sum + length, 0);

function planCommon(random: Random, { topics, habits, scales }: LayoutRequest): FieldPlan[] {
  const seen = new Set<QuantityName>();
  const plans = topics.flatMap((topic) =>
    topic.quantities
      .filter((name) => !seen.has(name) && seen.add(name))
      .map((name) => planField(random, habits, name, { delayMs: delayOf(random, topic), scale: scales[name] })),
  );
  return random.next() < 0.5 ? random.shuffle(plans) : plans;
}

export function layOut(random: Random, request: LayoutRequest): Layout {
  const { topics, habits, fd } = request;
  const plans = planCommon(random, request);
  const theme = topics.find((topic) => topic.pages)?.pages;
  const pages = theme ? planPages(random, habits, theme, request) : [];
  const pageBits = Math.max(0, ...pages.map(bitsOf)) + (theme ? 8 : 0);
  const cipherBits = 8 * topics.reduce((sum, { cipherBytes = 0 }) => sum + cipherBytes, 0);
  const length = bytesFor(random, bitsOf(plans) + pageBits + cipherBits + GUARD_AND_SLACK_BITS, fd);
  const guard = planGuards(random, request, length);
  const room = new Room(length);
  for (const piece of guard.pieces) room.take(piece);
  return fillLayout(random, request, { length, guard, room, plans, pages });
}

interface Frame {
  readonly length: number;
  readonly guard: GuardPlan;
  readonly room: Room;
  readonly plans: readonly FieldPlan[];
  readonly pages: readonly FieldPlan[][];
}

/** Some suppliers guard only the pages that matter; on the others the guard's bits are zero. */
function onSomePages(random: Random, guard: GuardPlan, pages: readonly number[]): GuardPlan {
  const draw = random.fork('guarded pages');
  if (guard.counters.length === 0 || guard.tag) return guard;
  const guarded = pages.filter((_, index) => index === 0 || draw.next() < 0.5);
  const when = { page: guarded };
  return {
    ...guard,
    counters: guard.counters.map((counter) => ({ ...counter, when })),
    checksums: guard.checksums.map((checksum) => ({ ...checksum, when })),
  };
}

function fillLayout(random: Random, request: LayoutRequest, { length, guard, room, plans, pages }: Frame): Layout {
  const draft: Draft = { signals: [], fields: [] };
  const chosen = pages.length > 0 ? drawSelector(random, request.habits, room, pages.length) : null;
  const own = chosen && request.habits.guardsSomePages ? onSomePages(random, guard, chosen.values) : guard;
  if (!chosen) placeAll(room, plans, draft, null);
  const left = new Room(length, room.taken);
  pages.forEach((page, index) => {
    const onPage = room.copy();
    placeAll(onPage, page, draft, chosen?.values[index] ?? 0);
    onPage.taken.forEach((taken, at) => (left.taken[at] = Math.max(left.taken[at] as number, taken)));
  });
  if (chosen) placeAll(left, plans, draft, null);
  const base = new Uint8Array(length);
  const { unclaimed, noise } = fillRest(random, left, request, base);
  const selectors = chosen ? [chosen.selector] : [];
  return { length, ...draft, selectors, pages: chosen?.values ?? [], guard: own, unclaimed, base, noise };
}
