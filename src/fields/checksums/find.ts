/**
 * Checksums of one identifier (or page): every place is tried with sums and exclusive ors, then CRCs, first with one
 * constant for all frames, then with a constant for each counter value. What is found is compiled by the map's own
 * rule and held against every frame; what fails there is not reported.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions, rawReader } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import { claim } from '../mask.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Steps } from '../steps.ts';
import type { Explained } from '../types.ts';
import { attemptArithmetic, attemptByCounter, attemptCopy, attemptCrc, type Attempt } from './attempt.ts';
import { distinctPayloads, gatherEvidence, type Evidence } from './evidence.ts';
import { coveredBytes, finish, type Finished } from './judge.ts';
import { lentAttempts } from './lend.ts';
import type { RuleHabit } from './lend-habits.ts';
import { isCopy, RESTLESS_MIN, tagPlaces, type TagPlace } from './places.ts';

export interface ChecksumOptions {
  readonly id: number;
  /** [bytes] bits that may hold or be covered by a checksum. */
  readonly usable: Uint8Array;
  /** In the map's shape; the first one picks from tables by counter. */
  readonly counters: readonly MapCounter[];
  readonly when: When;
  /** Rules of the bus, tried before all others. */
  readonly habits?: readonly RuleHabit[];
}

/** Distinct payloads without which nothing is tried; of a rule of the bus. */
const PAYLOADS_MIN = 8;
const LENT_PAYLOADS_MIN = 3;

/** A sum of so few bits over a counter comes round as often as that does: where but one is seen, it is the counter. */
const NIBBLE = 4;

/** Counters step at nearly every frame as they should; what only nearly does may as well be a sum. */
const STEADY = 0.97;

/** Whether other bits of its byte move too: the sum over a counter counts as well, and other content comes into it. */
const hasCompany = ({ lsb, length }: MapCounter, moved: Uint8Array): boolean =>
  length < 8 && ((moved[lsb.byte] as number) & ~(((1 << length) - 1) << lsb.bit)) !== 0;

/** [bytes] mask of the steady counters' bits. Of several, a complemented sum may be one: those alone in their bytes and those that step forward stay. */
function countingBits(counters: readonly MapCounter[], { bytes, moved }: Evidence): Uint8Array {
  const steady = counters.filter(({ confidence }) => confidence >= STEADY);
  const alone = steady.filter((counter) => !hasCompany(counter, moved));
  const left = alone.length > 0 ? alone : steady;
  const forward = left.filter(({ step }) => step > 0);
  const others = new Uint8Array(bytes).fill(0xff);
  const isOnlyOne = left.length === 1 && left[0]!.length <= NIBBLE;
  for (const counter of forward.length > 0 || (alone.length === 0 && !isOnlyOne) ? forward : left)
    claim(others, counter as Placement);
  return others.map((bits) => ~bits & 0xff);
}

/** Work at a place that holds no rule, in payload pairs read. */
const PLACE_STEPS = 200;
/** Below this share of frames that pass, the other places are tried as well. */
const PLAIN_PASS = 0.9995;

type Try = (place: TagPlace) => Attempt | null;

/** Places are tried from the likeliest on; where the rule fails now and then, a later place may do better. */
function* firstHolding(
  evidence: Evidence,
  usable: Uint8Array,
  attempt: Try,
  rows: PayloadRows,
  options: ChecksumOptions,
  restlessMin = RESTLESS_MIN,
): Steps<Sought> {
  let best: Finished | null = null;
  let doubtful: Finished | null = null;
  for (const place of tagPlaces(evidence, usable, countingBits(options.counters, evidence), restlessMin)) {
    const found = attempt(place);
    yield found ? rows.count * rows.bytes : evidence.pairs.length * PLACE_STEPS;
    const finished = found && finish(found, evidence, rows, options);
    if (found && found.rivals > 0 && place.onCounter) {
      doubtful ??= finished;
      continue;
    }
    if (finished && (!best || finished.passedShare > best.passedShare)) best = finished;
    if (best && best.passedShare >= PLAIN_PASS) break;
  }
  return { found: best && best.checksum, doubtful: doubtful && doubtful.checksum };
}

interface Sought {
  readonly found: Explained<MapChecksum> | null;
  /** Holds at a place that counts: taken where no other place is found, as a sum over a counter counts as well. */
  readonly doubtful: Explained<MapChecksum> | null;
}

/** The likeliest rule of the bus that holds. */
function firstLent(
  evidence: Evidence,
  usable: Uint8Array,
  rows: PayloadRows,
  options: ChecksumOptions,
): Explained<MapChecksum> | null {
  if (!options.habits || options.habits.length === 0) return null;
  const { id, counters, habits } = options;
  const counting = countingBits(counters, evidence);
  for (const attempt of lentAttempts(habits, { id, evidence, usable, counting, counters })) {
    const finished = finish(attempt, evidence, rows, options);
    if (finished) return finished.checksum;
  }
  return null;
}

/**
 * Wide rules before narrow ones: a nibble of a wide rule may obey a narrow one, and a generator with the factor x^4 + 1 makes
 * all nibbles of a codeword come out even. Last copies of what moves seldom, as two opposite values under a rule look the same. The next checksum, given the bits that are still free to hold one and those that others hold.
 */
function* findNext(
  rows: PayloadRows,
  payloads: readonly Uint8Array[],
  usable: Uint8Array,
  taken: Uint8Array,
  options: ChecksumOptions,
): Steps<Explained<MapChecksum> | null> {
  const plain = gatherEvidence(rows.bytes, payloads, null, taken);
  const lent = firstLent(plain, usable, rows, options);
  yield rows.count;
  if (lent || payloads.length < PAYLOADS_MIN) return lent;
  const isWide = ({ length }: TagPlace): boolean => length >= 8;
  const sum = (place: TagPlace): Attempt | null => (isCopy(place, plain) ? null : attemptArithmetic(place, plain));
  const crc = (place: TagPlace): Attempt | null => (isCopy(place, plain) ? null : attemptCrc(place, plain, options.id));
  const wide: Try[] = [
    (place) => (isWide(place) ? attemptCopy(place, plain) : null),
    (place) => (isWide(place) ? sum(place) : null),
    (place) => (isWide(place) ? crc(place) : null),
  ];
  const narrow: Try[] = [
    (place) => (isWide(place) ? null : (attemptCopy(place, plain) ?? sum(place))),
    (place) => (isWide(place) ? null : crc(place)),
  ];
  let found: Explained<MapChecksum> | null = null;
  for (const tries of [wide, narrow]) {
    let doubtful: Explained<MapChecksum> | null = null;
    if (found) break;
    for (const attempt of tries) {
      const sought: Sought = yield* firstHolding(plain, usable, attempt, rows, options);
      doubtful ??= sought.doubtful;
      found = sought.found;
      if (found) break;
    }
    found ??= doubtful;
  }
  const counter = options.counters[0];
  if (found || !counter) return found;
  const read = rawReader(counter as Placement);
  const grouped = gatherEvidence(rows.bytes, payloads, (payload) => read(payload, 0), taken);
  const byCounter: Try = (place) => attemptByCounter(place, grouped, counter);
  found = (yield* firstHolding(grouped, usable, byCounter, rows, options)).found;
  if (found) return found;
  const seldom: Try = (place) => (isWide(place) && place.besideCounter ? attemptCopy(place, plain) : null);
  return (yield* firstHolding(plain, usable, seldom, rows, options, 0)).found;
}

/** From so many distinct payloads on, every seventh is kept to hold the rule against: counters come round in other numbers. */
const HOLD_OUT_FROM = 64;
const HELD_OUT = 7;

const fittedOf = (payloads: readonly Uint8Array[]): readonly Uint8Array[] =>
  payloads.length < HOLD_OUT_FROM ? payloads : payloads.filter((_, index) => index % HELD_OUT !== HELD_OUT - 1);

/** More separately guarded parts than this in one frame have not been heard of. */
const PARTS_MAX = 4;

/** Checksums of the rows, one for each separately guarded part: none covers another or what another covers holds. */
export function* findChecksums(rows: PayloadRows, options: ChecksumOptions): Steps<Explained<MapChecksum>[]> {
  const payloads = fittedOf(distinctPayloads(rows));
  if (payloads.length < (options.habits ? LENT_PAYLOADS_MIN : PAYLOADS_MIN)) return [];
  const usable = options.usable.slice();
  const taken = new Uint8Array(rows.bytes);
  const found: Explained<MapChecksum>[] = [];
  while (found.length < PARTS_MAX) {
    const next = yield* findNext(rows, payloads, usable, taken, options);
    if (!next) break;
    found.push(next);
    for (const position of bitPositions(next as Placement)) {
      taken[position >> 3] = (taken[position >> 3] as number) | (1 << (position & 7));
      usable[position >> 3] = 0;
    }
    for (const byte of coveredBytes(next)) usable[byte] = 0;
    if (usable.every((bits) => bits === 0)) break;
  }
  return found;
}
