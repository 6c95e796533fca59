/** Gives a frame, or one part of a long one, its guards. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import type { Presence } from '../fields-truth.ts';
import { inByte, wholeBytes, writerOf, type Board } from './board.ts';
import { chance } from './draw.ts';
import { TABLE_CHECK, type CheckRule, type CounterRule, type GuardStyle } from './guard-style.ts';
import { checkOf, tagOf } from './guard-work.ts';
import type { CheckSlot, CounterSlot, Part } from './layout.ts';

export interface Guards {
  readonly counters: CounterSlot[];
  readonly checks: CheckSlot[];
}

export function counterSlot(
  place: Placement,
  { step, every, max }: CounterRule,
  restarts: boolean,
  on: Presence = [],
  pages: ReadonlySet<number> | null = null,
): CounterSlot {
  return { known: { place, on, step, every, min: 0, max }, pages, restarts };
}

type SecretOf = (counter: number) => readonly number[];

function secretOf({ secret }: CheckRule, id: number, random: Random): SecretOf {
  const byte = (): number => random.below(256);
  switch (secret) {
    case 'none':
      return () => [];
    case 'identifier': {
      const bytes = chance(random, 0.5) ? [id & 255, (id >> 8) & 255] : [(id >> 8) & 255, id & 255];
      return () => bytes;
    }
    case 'bytes': {
      const bytes = chance(random, 0.5) ? [byte()] : [byte(), byte()];
      return () => bytes;
    }
    case 'by counter': {
      const list = Array.from({ length: 16 }, () => [byte()]);
      return (counter) => list[counter & 15]!;
    }
  }
}

const nameOf = ({ family, width, poly, reflected, secret }: CheckRule): string =>
  `${family} ${width}${family === 'crc' ? ` 0x${poly.toString(16)}${reflected ? ' reflected' : ''}` : ''}, ${secret}`;

/** A check over the part's bytes; whole bytes of its own are left out, of a shared one the own bits are zeros. */
function checkSlot(rule: CheckRule, place: Placement, part: Part, counter: number, random: Random): CheckSlot {
  const check = checkOf(rule, random.fork('table'));
  const secret = secretOf(rule, part.id, random);
  const write = writerOf(place);
  const own = rule.width < 8 ? 0 : rule.width / 8;
  const first = own === 0 ? -1 : place.order === 'big' ? place.lsb.byte - own + 1 : place.lsb.byte;
  return {
    known: { place, on: [], kind: rule.family === 'table' ? 'unsolved' : 'rule', model: nameOf(rule) },
    rule,
    part,
    secret,
    counter,
    apply: (bytes, value) => {
      const message = rule.secretFirst ? [...secret(value)] : [];
      for (let byte = part.from; byte < part.to; byte++)
        if (byte < first || byte >= first + own) message.push(bytes[byte]!);
      if (!rule.secretFirst) message.push(...secret(value));
      write(bytes, check(message));
    },
  };
}

interface Spot {
  readonly check: Placement | null;
  readonly counter: Placement | null;
}

function spotsOf(
  { place, upper, bigFirst }: GuardStyle,
  rule: CheckRule | null,
  counter: CounterRule | null,
  part: Part,
): Spot {
  const isFirst = place === 'first';
  if (rule?.width === 4) {
    const byte = isFirst ? part.from : part.to - 1;
    return { check: inByte(byte, upper ? 0 : 4, 4), counter: inByte(byte, upper ? 4 : 0, 4) };
  }
  const own = rule ? rule.width / 8 : 0;
  const checkAt = isFirst ? part.from : part.to - own;
  const wide = counter && counter.bits > 8 ? 2 : 1;
  const counterAt = isFirst ? part.from + own : checkAt - wide;
  const bits = counter?.bits ?? 0;
  return {
    check: rule ? wholeBytes(checkAt, own, bigFirst) : null,
    counter: !counter
      ? null
      : bits > 8
        ? wholeBytes(counterAt, 2, bigFirst)
        : inByte(counterAt, upper ? 8 - bits : 0, bits),
  };
}

/** rule, counter: of the style, or others for this frame. Adds to `guards` and takes the bits; false where they do not fit. */
export function takeGuards(
  board: Board,
  part: Part,
  style: GuardStyle,
  rule: CheckRule | null,
  counter: CounterRule | null,
  guards: Guards,
  random: Random,
): boolean {
  const spots = spotsOf(style, rule, counter, part);
  const places = [spots.check, spots.counter].filter((place) => place !== null);
  const room = part.to - part.from - (rule?.width ?? 0) / 8;
  if (room < 2 || !places.every((place) => board.isFree(place))) return false;
  places.forEach((place) => board.take(place));
  let index = -1;
  if (spots.counter && counter) index = guards.counters.push(counterSlot(spots.counter, counter, style.restarts)) - 1;
  if (spots.check && rule) guards.checks.push(checkSlot(rule, spots.check, part, index, random));
  return true;
}

/** The last bytes of the part are a tag over the rest, made with a key and the whole count of frames, of which some bits are sent. */
export function takeTag(board: Board, part: Part, guards: Guards, random: Random): void {
  const room = part.to - part.from;
  const length = room > 16 ? random.pick([4, 6, 8]) : room > 6 ? random.pick([3, 3, 4]) : 3;
  const first = part.to - length;
  const place = wholeBytes(first, length, true);
  const bits = random.pick([4, 8, 8]);
  const count = inByte(first - 1, 0, bits);
  board.take(place);
  board.take(count);
  const key = random.below(2 ** 31);
  guards.counters.push(counterSlot(count, { bits, max: 2 ** bits - 1, step: 1, every: 1 }, false));
  guards.checks.push({
    known: { place, on: [], kind: 'mac', model: `tag of ${8 * length} bits` },
    rule: null,
    part,
    secret: () => [],
    counter: guards.counters.length - 1,
    apply: (bytes, _counter, fresh) => {
      bytes.set(tagOf(bytes.subarray(part.from, first), key, fresh, length), first);
    },
  });
}

/** The house's rule, now and then one outside all families. */
export const ruleFor = ({ check }: GuardStyle, odd: number, random: Random): CheckRule | null =>
  check && check.width >= 8 && chance(random, odd) ? TABLE_CHECK : check;
