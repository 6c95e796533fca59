/**
 * Guards: a sender's one rule with a secret or identifier of each frame's own, its counter, and where both lie. Forms with a data identifier
 * are those of the AUTOSAR end-to-end profiles 1, 2, 5, 11 and 22 (PRS E2E protocol); the others are common practice, no source.
 */
import type { ByteOrder, Piece } from '../../../../src/frames/bits.ts';
import type { Random } from '../../../../src/kit/random.ts';
import type { KnownChecksum } from '../../fields-truth.ts';
import { addAround, addBytes, addNibbles, divide, mixBeyondFamilies, xorBytes } from './slow-checks.ts';

const KINDS = [
  'division',
  'division',
  'profile 1 both',
  'profile 1 alternating',
  'profile 1 low',
  'profile 1 nibble',
  'profile 2',
  'profile 5',
  'profile 11',
  'profile 22',
  'wide division',
  'wide division',
  'narrow division',
  'xor',
  'sum',
  'sum with identifier',
  'complemented sum',
  'end-around sum',
  'nibble sum',
  'copy',
] as const;
type Kind = (typeof KINDS)[number] | 'double division' | 'keyed' | 'odd';

export interface CounterHabit {
  readonly length: number;
  readonly step: number;
  readonly min: number;
  readonly max: number;
  readonly every: number;
  /** Advances only when what it counts has changed. */
  readonly onChange: boolean;
}

export interface GuardHabit {
  readonly kind: Kind;
  readonly width: number;
  readonly poly: number;
  readonly init: number;
  readonly reflected: boolean;
  readonly xorout: number;
  readonly order: ByteOrder;
  readonly secrets: 'prefix' | 'suffix' | 'none';
  readonly at: 'first' | 'last' | 'middle';
  readonly counter: CounterHabit;
}

const POLYNOMIALS: Record<number, readonly number[]> = {
  4: [0x3, 0x9, 0xf],
  8: [0x07, 0x1d, 0x2f, 0x31, 0x9b, 0xd5],
  16: [0x1021, 0x8005, 0x3d65, 0x8bb7],
  32: [0x04c11db7, 0xf4acfb13, 0x1edc6f41],
};

function drawCounter(random: Random, kind: Kind): CounterHabit {
  const usual = { length: 4, step: 1, min: 0, max: 15, every: 1, onChange: false };
  if (kind === 'profile 1 nibble' || kind.startsWith('profile 1')) return { ...usual, max: 14 };
  if (kind === 'profile 2' || kind === 'profile 22') return usual;
  if (kind === 'profile 5') return { ...usual, length: 8, max: 255 };
  return random.pick([
    usual,
    usual,
    { ...usual, max: 14 },
    { ...usual, min: 1 },
    { ...usual, step: -1 },
    { ...usual, step: 3 },
    { ...usual, length: 2, max: 3 },
    { ...usual, length: 1, max: 1 },
    { ...usual, length: 8, max: 255 },
    { ...usual, length: 6, max: 49 },
    { ...usual, every: 2 },
    { ...usual, every: 5 },
    { ...usual, onChange: true },
  ]);
}

function widthOf(kind: Kind, random: Random): number {
  if (kind === 'wide division' || kind === 'profile 5') return 16;
  if (kind === 'double division') return 32;
  if (kind === 'narrow division' || kind === 'nibble sum') return 4;
  if (kind === 'keyed') return random.pick([16, 24, 32]);
  return kind === 'odd' ? random.pick([8, 16]) : 8;
}

const PROFILES: Partial<Record<Kind, Partial<GuardHabit>>> = {
  'profile 1 both': { poly: 0x1d },
  'profile 1 alternating': { poly: 0x1d },
  'profile 1 low': { poly: 0x1d },
  'profile 1 nibble': { poly: 0x1d },
  'profile 11': { poly: 0x1d },
  'profile 2': { poly: 0x2f, init: 0xff, xorout: 0xff },
  'profile 22': { poly: 0x2f, init: 0xff, xorout: 0xff },
  'profile 5': { poly: 0x1021, init: 0xffff, order: 'little' },
};

export interface GuardWish {
  /** Share of senders with a keyed tag, and with a rule outside all families. */
  readonly keyed: number;
  readonly odd: number;
  readonly fd: boolean;
}

function drawKind(random: Random, { keyed, odd, fd }: GuardWish): Kind {
  const chance = random.next();
  if (chance < keyed) return 'keyed';
  if (chance < keyed + odd) return 'odd';
  return fd && random.next() < 0.25 ? 'double division' : random.pick(KINDS);
}

export function drawGuardHabit(random: Random, wish: GuardWish): GuardHabit {
  const kind = drawKind(random, wish);
  const width = widthOf(kind, random);
  const ones = 2 ** width - 1;
  const known = POLYNOMIALS[width] ?? [1];
  const own = random.next() < 0.3 ? (random.below(ones + 1) | 1) >>> 0 : random.pick(known);
  const profile = kind.startsWith('profile');
  return {
    kind,
    width,
    poly: own,
    init: profile ? 0 : random.pick([0, ones, ones, random.below(ones + 1)]),
    reflected: !profile && random.next() < 0.35,
    xorout: profile ? 0 : random.pick([0, ones, random.below(ones + 1)]),
    order: random.pick(['little', 'big'] as const),
    secrets: random.pick(['prefix', 'suffix', 'none'] as const),
    at: random.pick(['first', 'last', 'last', 'middle'] as const),
    counter: drawCounter(random, kind),
    ...PROFILES[kind],
  };
}

/** One guarded part of a frame. */
export interface GuardPlan {
  readonly habit: GuardHabit;
  readonly place: Piece;
  readonly counter: Piece;
  readonly covers: readonly number[];
  readonly kind: KnownChecksum['kind'];
  readonly model: string;
  /** The tag of a payload whose tag bits are zero. freshness: frames sent before it. */
  readonly tagOf: (payload: Uint8Array, count: number, freshness: number) => number;
}

/** The order of a tag that nobody can work out is nowhere to be seen: it is written in the usual one. */
function placeOf({ width, at, order, kind }: GuardHabit, from: number, bytes: number): Piece {
  const wide = Math.max(1, width / 8);
  const first = at === 'first' ? from : at === 'last' ? from + bytes - wide : from + Math.floor((bytes - wide) / 2);
  if (width < 8) return { lsb: { byte: first, bit: 4 }, length: 4, order: 'little' };
  const big = order === 'big' && wide > 1 && kind !== 'keyed' && kind !== 'odd';
  return { lsb: { byte: big ? first + wide - 1 : first, bit: 0 }, length: width, order: big ? 'big' : 'little' };
}

function counterPlace({ counter, width }: GuardHabit, tag: Piece, random: Random, from: number, bytes: number): Piece {
  const wide = Math.max(1, width / 8);
  const least = tag.order === 'big' ? tag.lsb.byte - wide + 1 : tag.lsb.byte;
  if (width < 8 && counter.length <= 4)
    return { lsb: { byte: least, bit: 0 }, length: counter.length, order: 'little' };
  const beside = [least + wide, least - 1].filter((byte) => byte >= from && byte < from + bytes);
  const bit = counter.length === 8 ? 0 : random.pick([0, 8 - counter.length]);
  return { lsb: { byte: random.pick(beside), bit }, length: counter.length, order: 'little' };
}

interface Own {
  readonly id: number;
  readonly secret: readonly number[];
  readonly list: readonly number[];
  readonly key: number;
  readonly length: number;
}

const bothBytes = (id: number): [number, number] => [id & 0xff, (id >> 8) & 0xff];

/** What goes into the division before and after the covered bytes. */
function surroundings(kind: Kind, secrets: GuardHabit['secrets'], own: Own, count: number): [number[], number[]] {
  const [low, high] = bothBytes(own.id);
  switch (kind) {
    case 'profile 1 both':
    case 'profile 11':
      return [[low, high], []];
    case 'profile 1 alternating':
      return [[count % 2 === 0 ? low : high], []];
    case 'profile 1 low':
      return [[low], []];
    case 'profile 1 nibble':
      return [[low, 0], []];
    case 'profile 2':
    case 'profile 22':
      return [[], [own.list[count % 16] as number]];
    case 'profile 5':
      return [[], [low, high]];
    default:
      return [secrets === 'prefix' ? [...own.secret] : [], secrets === 'suffix' ? [...own.secret] : []];
  }
}

function tagFor(habit: GuardHabit, own: Own, message: readonly number[], count: number, freshness: number): number {
  const { kind, width } = habit;
  const ones = 2 ** width - 1;
  switch (kind) {
    case 'xor':
      return xorBytes(message, own.secret[0] as number);
    case 'sum':
      return addBytes(message, own.secret[0] as number);
    case 'sum with identifier':
      return addBytes([...message, ...bothBytes(own.id), own.length], 0);
    case 'complemented sum':
      return 0xff - addBytes(message, 0);
    case 'end-around sum':
      return 0xff - addAround(message);
    case 'nibble sum':
      return addNibbles(message, (own.secret[0] as number) & 15);
    case 'copy':
      return 0xff - (message[0] as number);
    case 'keyed':
      return mixBeyondFamilies([...message, freshness & 255, (freshness >> 8) & 255, freshness >> 16], own.key) & ones;
    case 'odd':
      return mixBeyondFamilies(message, own.key) & ones;
    default: {
      const [before, after] = surroundings(kind, habit.secrets, own, count);
      return divide(habit, [...before, ...message, ...after]);
    }
  }
}

const hexText = (value: number): string => `0x${value.toString(16).toUpperCase()}`;

/** Guards the bytes from..from + bytes - 1 of a frame of so many bytes. */
export function planGuard(
  random: Random,
  habit: GuardHabit,
  id: number,
  from: number,
  bytes: number,
  length: number,
): GuardPlan {
  const place = placeOf(habit, from, bytes);
  const counter = counterPlace(habit, place, random, from, bytes);
  const wide = habit.width / 8;
  const least = place.order === 'big' ? place.lsb.byte - wide + 1 : place.lsb.byte;
  const all = Array.from({ length: bytes }, (_, index) => from + index);
  const rest = habit.width < 8 ? all : all.filter((byte) => byte < least || byte >= least + wide);
  const covers = habit.kind === 'copy' ? [random.pick(rest)] : rest;
  const own: Own = {
    id,
    secret: Array.from({ length: 1 + random.below(2) }, () => random.below(256)),
    list: Array.from({ length: 16 }, () => random.below(256)),
    key: random.below(2 ** 31),
    length,
  };
  const isDivision = habit.kind.includes('division');
  return {
    habit,
    place,
    counter,
    covers,
    kind: habit.kind === 'keyed' ? 'mac' : habit.kind === 'odd' ? 'unsolved' : 'rule',
    model: isDivision
      ? `${habit.kind} ${hexText(habit.poly)}${habit.reflected ? ' reflected' : ''} ${habit.order} ${habit.secrets}`
      : habit.kind,
    tagOf: (payload, count, freshness) =>
      tagFor(
        habit,
        own,
        covers.map((byte) => payload[byte] as number),
        count,
        freshness,
      ),
  };
}
