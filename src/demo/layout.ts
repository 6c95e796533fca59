/** Lays out one frame: guards first, then the selector, then fields in the supplier's order, then what fills the rest. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import type { Random } from '../kit/random.ts';
import type { MapSelector, MapSignal, MapUnclaimed } from '../map/schema.ts';
import { fieldOf, planField, planText, signalOf, type FieldPlan } from './fields.ts';
import { NO_GUARD, planGuard, type GuardPlan } from './guards.ts';
import type { Habits } from './habits.ts';
import { Room } from './packing.ts';
import type { QuantityName } from './quantities.ts';
import type { PageTheme, Topic } from './topics.ts';
import { bitAddress, mapPiece, type MapPiece, type TrueField } from './true-frame.ts';

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

/** Slightly different for each cell, the same each time. */
const cellBias = (cell: number): number => (((cell * 37) % 97) / 97) * 0.009;

function pagesOf(random: Random, habits: Habits, theme: PageTheme, request: LayoutRequest): FieldPlan[][] {
  const chunk = <T>(items: readonly T[], size: number): T[][] =>
    Array.from({ length: Math.ceil(items.length / size) }, (_, page) => items.slice(page * size, page * size + size));
  switch (theme) {
    case 'cells': {
      const scale = random.pick([0.001, 0.002, 0.0015]);
      const length = scale === 0.001 ? 13 : 12;
      const cells = Array.from({ length: request.cells }, (_, cell) =>
        planField(random, { ...habits, float: false }, 'cell_voltage_low', {
          name: `cell_voltage_${cell + 1}`,
          bias: cellBias(cell),
          scale,
          length,
        }),
      );
      return chunk(alike(cells), 3);
    }
    case 'pack-temperatures': {
      const sensors = Array.from({ length: 12 }, (_, sensor) =>
        planField(random, { ...habits, float: false, negative: 'offset' }, 'pack_temperature_low', {
          name: `pack_temperature_${sensor + 1}`,
          bias: ((sensor * 5) % 12) * 0.17,
          scale: 0.5,
          length: 8,
        }),
      );
      return chunk(alike(sensors), 3);
    }
    case 'serial':
      return chunk(serialNumber(random, request.title), 5).map((part, page) => [
        planText(`serial_part_${page + 1}`, part.join('').padEnd(5, ' ')),
      ]);
    case 'service': {
      const sets: QuantityName[][] = [
        ['motor_temperature', 'inverter_temperature'],
        ['phase_current', 'dc_current'],
        ['dc_link_voltage', 'modulation'],
        ['inverter_state', 'torque_available_drive'],
      ];
      return sets.map((names) => names.map((name) => planField(random, { ...habits, float: false }, name)));
    }
  }
}

/** Values of one family share order, coding and everything but their place. */
function alike(plans: readonly FieldPlan[]): FieldPlan[] {
  const first = plans[0] as FieldPlan;
  return plans.map((plan) => ({ ...first, name: plan.name, source: plan.source }));
}

function serialNumber(random: Random, title: string): string[] {
  const letters = title
    .replace(/[^A-Z0-9]/gi, '')
    .toUpperCase()
    .slice(0, 3);
  const digits = String(100_000 + random.below(900_000));
  return [...`${letters}-${digits.slice(0, 2)}${random.pick(['K', 'N', 'T'])}${digits}`];
}

interface Draft {
  readonly signals: MapSignal[];
  readonly fields: TrueField[];
}

/** Places what fits, in the order given; answers whether all did. */
function placeAll(
  room: Room,
  plans: readonly FieldPlan[],
  draft: Draft,
  selector: string,
  page: number | null,
): boolean {
  let all = true;
  for (const plan of plans) {
    const piece = placeOne(room, plan);
    if (!piece) {
      all = false;
      continue;
    }
    draft.signals.push(signalOf(plan, piece, page === null ? null : { [selector]: [page] }));
    draft.fields.push(fieldOf(plan, page));
  }
  return all;
}

function placeOne(room: Room, plan: FieldPlan): Piece | null {
  const piece =
    room.place(plan.length, plan.order, plan.step) ??
    room.place(plan.length, plan.order, 1) ??
    room.place(plan.length, other(plan.order), 1);
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
  if (!request.fd || length < 24) return planGuard(random, habits.guard, id, 0, length, 'alive');
  const first = planGuard(random, habits.guard, id, 0, length / 2, 'alive');
  if (first.tag) return first;
  const second = planGuard(random, habits.guard, id, length / 2, length / 2, 'alive_2');
  return {
    counters: [...first.counters, ...second.counters],
    checksums: [...first.checksums, ...second.checksums.map((checksum) => withoutTable(checksum))],
    tag: null,
    pieces: [...first.pieces, ...second.pieces],
  };
}

/** Tables are indexed by a frame's first counter; the second group of a frame gets a plain constant instead. */
function withoutTable<T extends { suffixByCounter?: string[][] | undefined }>(checksum: T): T {
  const { suffixByCounter, ...rest } = checksum;
  return suffixByCounter ? ({ ...rest, suffix: suffixByCounter[0] } as unknown as T) : checksum;
}

function fillRest(
  random: Random,
  room: Room,
  habits: Habits,
  base: Uint8Array,
  noiseShare: number,
): { unclaimed: MapUnclaimed[]; noise: number[] } {
  const noise: number[] = [];
  const unclaimed = room.gaps().map((gap): MapUnclaimed => {
    if (gap.length === 8 && random.next() < noiseShare) {
      noise.push(gap.lsb.byte);
      return { ...mapPiece(gap), reason: 'noise' };
    }
    const ones = habits.filler === 1;
    const value = random.next() < 0.12 ? random.below(2 ** gap.length) : ones ? 2 ** gap.length - 1 : 0;
    base[gap.lsb.byte] = (base[gap.lsb.byte] as number) | (value << gap.lsb.bit);
    const filling = value === 2 ** gap.length - 1 && gap.length === 8;
    return { ...mapPiece(gap), reason: value === 0 ? 'idle' : filling ? 'filling' : 'constant', value };
  });
  return { unclaimed, noise };
}

function delayOf(random: Random, topic: Topic): number {
  return topic.delayed ? random.between(15, 90) : 0;
}

export function layOut(random: Random, request: LayoutRequest): Layout {
  const { topics, habits, fd } = request;
  const seen = new Set<QuantityName>();
  const plans = topics.flatMap((topic) =>
    topic.quantities
      .filter((name) => !seen.has(name) && seen.add(name))
      .map((name) => planField(random, habits, name, { delayMs: delayOf(random, topic), scale: request.scales[name] })),
  );
  if (random.next() < 0.5) random.shuffle(plans);
  const theme = topics.find(({ pages }) => pages)?.pages;
  const pages = theme ? pagesOf(random, habits, theme, request) : [];
  const pageBits = Math.max(0, ...pages.map((page) => page.reduce((sum, { length }) => sum + length, 0)));
  const bits = plans.reduce((sum, { length }) => sum + length, 0) + pageBits + (theme ? 8 : 0) + 20;
  const length = bytesFor(random, bits, fd);
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

function fillLayout(random: Random, request: LayoutRequest, { length, guard, room, plans, pages }: Frame): Layout {
  const draft: Draft = { signals: [], fields: [] };
  const chosen = pages.length > 0 ? drawSelector(random, request.habits, room, pages.length) : null;
  if (!chosen) placeAll(room, plans, draft, '', null);
  const left = new Room(length, room.taken);
  pages.forEach((page, index) => {
    const own = room.copy();
    placeAll(own, page, draft, 'page', chosen?.values[index] ?? 0);
    own.taken.forEach((taken, at) => (left.taken[at] = Math.max(left.taken[at] as number, taken)));
  });
  if (chosen) placeAll(left, plans, draft, '', null);
  const base = new Uint8Array(length);
  const { unclaimed, noise } = fillRest(random, left, request.habits, base, request.noiseShare);
  const selectors = chosen ? [chosen.selector] : [];
  return { length, ...draft, selectors, pages: chosen?.values ?? [], guard, unclaimed, base, noise };
}

export const networkPiece: MapPiece = { lsb: bitAddress(1, 4), length: 1, order: 'little' };
