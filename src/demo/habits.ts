/**
 * The habits of a module's supplier, drawn from a seed: byte order, packing, how negative numbers and missing values are
 * written, which guard its frames carry, and how its clock and task run. One module has one set of habits: that is
 * what makes a sender's frames alike.
 */
import type { Random } from '../kit/random.ts';
import type { ModuleRole } from './quantities.ts';
import type { Profile } from './profiles.ts';

type GuardKind =
  | 'none'
  | 'counter'
  | 'crc8-last'
  | 'crc8-data-id'
  | 'crc8-by-counter'
  | 'crc16-data-id'
  | 'crc8-own-poly'
  | 'crc8-reflected'
  | 'xor'
  | 'sum'
  | 'sum-complement'
  | 'sum-end-around'
  | 'nibble-sum'
  | 'keyed'
  | 'odd';

export interface GuardHabit {
  readonly kind: GuardKind;
  /** Share of the module's frames that carry it. */
  readonly share: number;
  readonly poly: number;
  readonly counter: { readonly length: number; readonly max: number; readonly step: number; readonly every: number };
  /** Where the checksum goes: first or last byte. */
  readonly at: 'first' | 'last';
  /** Which half of its byte a short counter takes. */
  readonly nibble: 'low' | 'high';
}

export interface Habits {
  readonly order: 'little' | 'big' | 'mixed';
  /** Exact number of bits, or the next of 8, 10, 12, 16. */
  readonly width: 'exact' | 'natural';
  /** Chance that a field starts on a byte border though it need not. */
  readonly alignment: number;
  readonly negative: 'signed' | 'offset' | 'sign-magnitude';
  /** Values not there yet are sent as all ones (numbers) and at the top state. */
  readonly noData: boolean;
  /** What unused bits are filled with. */
  readonly filler: 0 | 1;
  readonly wideFlags: boolean;
  readonly bcd: boolean;
  /** Some values have their high bits elsewhere in the frame. */
  readonly splits: boolean;
  /** Paged frames are guarded on some of their pages only. */
  readonly guardsSomePages: boolean;
  readonly float: boolean;
  readonly guard: GuardHabit;
  readonly extended: boolean;
  readonly fd: boolean;
  readonly timing: TimingHabits;
}

export interface TimingHabits {
  /** Task tick, ms. */
  readonly tickMs: number;
  /** How much faster than nominal the module's clock runs, parts per million. */
  readonly skewPpm: number;
  /** Slow change of the skew over a capture (the crystal warms up), ppm per hundred seconds. */
  readonly skewDriftPpm: number;
  /** Scatter of the task's start, microseconds. */
  readonly jitterUs: number;
  /** From the first call to wake up to the first frame. */
  readonly bootMs: number;
  /** From the first frame until values are there. */
  readonly initialiseMs: number;
  /** From the call to sleep to the last frame. */
  readonly lingerMs: number;
}

const USUAL_GUARDS: readonly GuardKind[] = [
  'crc8-last',
  'crc8-last',
  'crc8-data-id',
  'crc8-by-counter',
  'crc16-data-id',
  'crc8-own-poly',
  'crc8-reflected',
  'xor',
  'xor',
  'sum',
  'sum',
  'sum-complement',
  'sum-end-around',
  'nibble-sum',
  'counter',
];
const KNOWN_POLYNOMIALS = [0x1d, 0x2f, 0x07, 0xd5, 0x9b];

function drawCounter(random: Random, kind: GuardKind): GuardHabit['counter'] {
  if (kind === 'crc8-data-id') return { length: 4, max: 14, step: 1, every: 1 };
  if (kind === 'crc8-by-counter') return { length: 4, max: 15, step: 1, every: 1 };
  if (kind === 'crc16-data-id') return { length: 8, max: 255, step: 1, every: 1 };
  const length = random.pick([4, 4, 4, 4, 4, 2, 3, 8]);
  const full = 2 ** length - 1;
  const max = length === 4 && random.next() < 0.4 ? 14 : full;
  const step = random.next() < 0.86 ? 1 : random.pick([-1, 2, 3]);
  return { length, max, step, every: random.next() < 0.06 ? 2 : 1 };
}

function drawGuard(random: Random, profile: Profile): GuardHabit {
  const roll = random.next();
  let kind: GuardKind = 'none';
  if (random.next() < profile.guarded) {
    kind = roll < profile.keyed ? 'keyed' : roll < profile.keyed + profile.odd ? 'odd' : random.pick(USUAL_GUARDS);
  } else if (random.next() < 0.25) kind = 'counter';
  const poly = kind === 'crc8-own-poly' ? random.below(128) * 2 + 1 : random.pick(KNOWN_POLYNOMIALS);
  return {
    kind,
    share: random.pick([1, 1, 0.7]),
    poly: kind === 'crc8-data-id' ? 0x1d : kind === 'crc8-by-counter' ? 0x2f : poly,
    counter: drawCounter(random, kind),
    at:
      kind === 'crc8-by-counter' || kind === 'crc16-data-id'
        ? 'first'
        : kind === 'crc8-data-id'
          ? random.pick(['first', 'last'])
          : random.pick(['last', 'last', 'first']),
    nibble: random.pick(['low', 'high']),
  };
}

const BODY_LIKE: readonly ModuleRole[] = ['body', 'charger', 'thermal', 'cluster'];

function drawTiming(random: Random, role: ModuleRole): TimingHabits {
  const relaxed = BODY_LIKE.includes(role);
  return {
    tickMs: relaxed ? random.pick([10, 20, 50]) : random.pick([5, 10, 10]),
    skewPpm: 34 * random.normal(),
    skewDriftPpm: 0.8 * random.normal(),
    jitterUs: relaxed ? random.between(60, 420) : random.between(6, 90),
    bootMs: random.between(35, relaxed ? 240 : 420),
    initialiseMs: random.between(80, 700),
    lingerMs: random.between(150, 1900),
  };
}

export function drawHabits(random: Random, role: ModuleRole, profile: Profile): Habits {
  const fd = random.next() < profile.fd;
  return {
    order: random.pick(['little', 'little', 'little', 'big', 'big', 'big', 'mixed']),
    width: random.pick(['exact', 'natural']),
    alignment: random.pick([0, 0.3, 0.8, 1]),
    negative: random.pick([
      'signed',
      'signed',
      'signed',
      'signed',
      'signed',
      'signed',
      'offset',
      'offset',
      'offset',
      'sign-magnitude',
    ]),
    noData: random.next() < 0.6,
    filler: random.next() < 0.3 ? 1 : 0,
    wideFlags: random.next() < 0.2,
    bcd: random.next() < 0.3,
    splits: random.fork('splits').next() < 0.05,
    guardsSomePages: random.fork('guarded pages').next() < 0.35,
    float: fd && random.next() < 0.4,
    guard: drawGuard(random, profile),
    extended: random.next() < profile.extended,
    fd,
    timing: drawTiming(random, role),
  };
}
