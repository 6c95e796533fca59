/** Draws counters and guards of a stranger's frame, which its house puts at the start or at the end. A house has one rule for each kind. */
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';
import type { CounterPlan, GuardPlan, HouseRule, Layout } from './layout.ts';
import { placed, type Packer } from './packer.ts';
import type { GuardKind, Style } from './styles.ts';

/** One habit in ten for each that differs from plain counting; the last one seldom. */
export function drawCounter(random: Random, place: Placement): CounterPlan {
  const all = 2 ** place.length;
  const habit = whole(random, 0, 9);
  const long = place.length >= 4;
  return {
    place,
    step: habit === 0 && long ? random.pick([2, 3, 5]) : habit === 1 ? -1 : 1,
    min: habit === 2 && long ? 1 : 0,
    max: habit === 3 && long ? all - 2 : habit === 4 && place.length === 8 ? random.pick([99, 249, 199]) : all - 1,
    every: habit === 5 ? random.pick([2, 4, 5]) : 1,
    onChange: habit === 6 && chance(random, 0.3),
  };
}

function houseRule(seed: string, kind: GuardKind, all: number): HouseRule {
  const random = createRandom(`rule ${seed} ${kind.replace(/id|table|two|len|not/, '')}`);
  return {
    poly: (whole(random, 0, all / 2 - 1) * 2 + 1) % all,
    init: random.pick([0, all - 1, whole(random, 0, all - 1)]),
    xorout: random.pick([0, 0, all - 1, whole(random, 0, all - 1)]),
    reflected: chance(random, 0.4),
  };
}

const idBytesOf = (id: number): number[] =>
  id > 0x7ff ? [id & 255, (id >>> 8) & 255, (id >>> 16) & 255, id >>> 24] : [id & 255, id >> 8];

function prefixOf(kind: GuardKind, id: number, length: number): number[] {
  if (kind === 'sum8len') return [length, ...idBytesOf(id)];
  return kind === 'sum8id' || kind === 'sum4id' ? idBytesOf(id) : [];
}

/** One frame in seven has a rule of its own, bought from elsewhere. */
function drawGuard(
  random: Random,
  seed: string,
  kind: GuardKind,
  place: Placement,
  { id, length }: Layout,
  [from, to]: readonly [number, number],
): GuardPlan {
  const own = new Set(bitPositions(place).map((bit) => bit >> 3));
  const bytes = Array.from({ length: to - from }, (_, index) => from + index);
  return {
    place,
    kind,
    covers: bytes.filter((byte) => place.length < 8 || !own.has(byte)),
    rule: houseRule(chance(random, 1 / 7) ? `${seed} ${id}` : seed, kind, 2 ** place.length),
    prefix: prefixOf(kind, id, length),
    suffix: kind === 'crc8id' || kind === 'crc16id' ? idBytesOf(id) : [],
    table: kind === 'crc8table' ? Array.from({ length: 16 }, () => random.below(256)) : null,
    key: whole(random, 1, 2 ** 31),
  };
}

function bitsOf(kind: GuardKind): number {
  if (kind === 'mac') return 24;
  if (kind === 'crc32') return 32;
  if (kind.startsWith('crc16')) return 16;
  return /^\D+4/.test(kind) ? 4 : 8;
}

interface Places {
  readonly tag: Placement;
  readonly counter: Placement;
}

function drawPlaces(random: Random, kind: GuardKind, style: Style, [from, to]: readonly [number, number]): Places {
  const width = bitsOf(kind);
  const atEnd = style.guardsAt === 'end';
  const bits = random.pick(kind.startsWith('crc8') || width >= 16 ? [4, 4, 8] : [2, 3, 4, 4]);
  if (width === 4) {
    const byte = atEnd ? to - 1 : from;
    return { tag: placed(byte, 4, 4, 'little'), counter: placed(byte, 0, bits, 'little') };
  }
  const bytes = width / 8;
  const first = atEnd ? to - bytes : from;
  const lowest = style.order === 'little' ? first : first + bytes - 1;
  const bit = bits === 8 ? 0 : random.pick([0, 0, 8 - bits]);
  const byTable = kind === 'crc8table';
  return {
    tag: placed(lowest, 0, width, style.order),
    counter: placed(atEnd ? first - 1 : first + bytes, byTable ? 0 : bit, byTable ? 4 : bits, 'little'),
  };
}

/** Before all values, as houses do. */
export function guardFrame(
  random: Random,
  seed: string,
  style: Style,
  packer: Packer,
  layout: Layout,
  kind: GuardKind,
): void {
  const { length } = layout;
  const half = length / 2;
  const parts: (readonly [number, number])[] =
    kind === 'crc8two' && length >= 16
      ? [
          [0, half],
          [half, length],
        ]
      : [[0, length]];
  for (const part of parts) {
    const { tag, counter } = drawPlaces(random, kind, style, part);
    layout.guards.push(drawGuard(random, seed, kind, packer.take(tag), layout, part));
    if (kind !== 'crc8table' && !chance(random, 0.85)) continue;
    const plan = drawCounter(random, packer.take(counter));
    const plain = kind === 'mac' || kind === 'crc8table';
    layout.counters.push(plain ? { ...plan, every: 1, onChange: false } : plan);
  }
}
