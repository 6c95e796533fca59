/**
 * Checksums of one identifier (or page): every place is tried with sums and exclusive ors, then CRCs, first with one
 * constant for all frames, then with a constant for each counter value. What is found is compiled by the map's own
 * rule and held against every frame; what fails there is not reported.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions, rawReader } from '../../frames/bits.ts';
import { compileChecksum } from '../../map/checksum.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import { claim } from '../mask.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Steps } from '../steps.ts';
import type { Explained } from '../types.ts';
import { copyAt } from './copy.ts';
import { findArithmetic, remainder } from './arithmetic.ts';
import { findCrc } from './crc-solve.ts';
import { distinctPayloads, gatherEvidence, type Evidence } from './evidence.ts';
import { nameArithmetic, nameCrc, nameCrcByCounter, type RuleParameters } from './name-rule.ts';
import { isCopy, tagPlaces, type TagPlace } from './places.ts';
import { whyOfRule } from './words.ts';

export interface ChecksumOptions {
  readonly id: number;
  /** [bytes] bits that may hold or be covered by a checksum. */
  readonly usable: Uint8Array;
  /** In the map's shape; the first one picks from tables by counter. */
  readonly counters: readonly MapCounter[];
  readonly when: When;
}

export interface Verified {
  readonly passed: number;
  readonly checked: number;
}

/** Holds a checksum against every row. */
export function verify(checksum: MapChecksum, counters: readonly MapCounter[], rows: PayloadRows): Verified {
  const compute = compileChecksum(checksum, { counters: [...counters] });
  if (!compute || rows.count === 0) return { passed: 0, checked: 0 };
  const read = rawReader(checksum as Placement);
  let passed = 0;
  for (let at = 0; at < rows.count * rows.bytes; at += rows.bytes) {
    if (Number(compute(rows.data, at, rows.bytes)) === read(rows.data, at)) passed++;
  }
  return { passed, checked: rows.count };
}

/** A start-up filling or a broken frame may fail; a rule may not. */
const PASS_MIN = 0.985;
/** Distinct payloads without which nothing is tried. */
const PAYLOADS_MIN = 8;

interface Attempt {
  readonly place: TagPlace;
  readonly parameters: RuleParameters;
  readonly rivals: number;
}

/** The most frequent remainder over the payloads. */
function usualConstant(values: readonly number[]): number {
  const times = new Map<number, number>();
  for (const value of values) times.set(value, (times.get(value) ?? 0) + 1);
  return [...times].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0])[0];
}

function attemptArithmetic(place: TagPlace, evidence: Evidence): Attempt | null {
  const found = findArithmetic(place, evidence);
  if (!found) return null;
  const { rule, rivals } = found;
  const constant = usualConstant(evidence.payloads.map((payload) => remainder(rule, place, payload)));
  return { place, parameters: nameArithmetic(rule, place, constant), rivals };
}

function attemptCopy(place: TagPlace, evidence: Evidence): Attempt | null {
  const parameters = copyAt(place, evidence);
  return parameters && { place, parameters, rivals: 0 };
}

function attemptCrc(place: TagPlace, evidence: Evidence, id: number): Attempt | null {
  const crc = findCrc(place, evidence);
  if (!crc) return null;
  const parameters = nameCrc(crc, place, evidence.payloads.at(-1) as Uint8Array, id);
  return parameters && { place, parameters, rivals: crc.rivals };
}

/** One payload for each counter value from 0 on, or null where one never came. */
function examplesByCounter(payloads: readonly Uint8Array[], counter: MapCounter): Uint8Array[] | null {
  const read = rawReader(counter as Placement);
  const examples: Uint8Array[] = [];
  for (const payload of payloads) examples[read(payload, 0)] ??= payload;
  const whole = Array.from({ length: counter.max + 1 }, (_, value) => examples[value] ?? examples[counter.min]);
  return whole.every((payload) => payload !== undefined) && seenAll(examples, counter) ? (whole as Uint8Array[]) : null;
}

function seenAll(examples: readonly (Uint8Array | undefined)[], counter: MapCounter): boolean {
  for (let value = counter.min; value <= counter.max; value += Math.max(1, Math.abs(counter.step))) {
    if (examples[value] === undefined) return false;
  }
  return true;
}

function attemptByCounter(place: TagPlace, evidence: Evidence, counter: MapCounter): Attempt | null {
  if (isCopy(place, evidence)) return null;
  const examples = examplesByCounter(evidence.payloads, counter);
  if (!examples) return null;
  const crc = findCrc(place, evidence);
  if (!crc) return null;
  const parameters = nameCrcByCounter(crc, place, examples);
  return parameters && { place, parameters, rivals: crc.rivals };
}

/** Payload bits that the rule may cover but that never moved: their part in it is not shown. */
function undeterminedBits(covers: readonly number[], evidence: Evidence, place: TagPlace): MapChecksum['undetermined'] {
  const found: { byte: number; bit: number }[] = [];
  for (const byte of covers) {
    for (let bit = 0; bit < 8; bit++) {
      const known = (evidence.moved[byte] as number) | (place.mask[byte] as number);
      if (((known >> bit) & 1) === 0) found.push({ byte, bit });
    }
  }
  return found;
}

/** Bytes of which a rule covers some bits. */
const coveredBytes = ({ covers }: Pick<MapChecksum, 'covers'>): number[] =>
  (covers ?? []).map((each) => (typeof each === 'number' ? each : each.byte));

interface Finished {
  readonly checksum: Explained<MapChecksum>;
  readonly passedShare: number;
}

function finish(attempt: Attempt, evidence: Evidence, rows: PayloadRows, options: ChecksumOptions): Finished | null {
  const { place, parameters } = attempt;
  const { lsb, length, order } = place;
  const covers = coveredBytes(parameters);
  const rule: MapChecksum = {
    lsb: { ...lsb },
    length,
    order,
    ...parameters,
    when: options.when,
    undetermined: undeterminedBits(covers, evidence, place),
    confidence: 0.5,
  };
  const verified = verify(rule, options.counters, rows);
  if (verified.passed < PASS_MIN * verified.checked) return null;
  const tests = evidence.differences.length;
  const checksum = {
    ...rule,
    confidence: sureness(verified, tests, attempt.rivals),
    why: whyOfRule(rule, verified, tests, attempt.rivals),
  };
  return { checksum, passedShare: verified.passed / verified.checked };
}

/** Sure to the degree that independent differences agree; a choice left between polynomials halves it. */
function sureness(verified: Verified, tests: number, rivals: number): number {
  const share = verified.passed / verified.checked;
  const enough = tests / (tests + 1);
  return Math.round(100 * Math.min(0.99, share * enough) * (rivals > 0 ? 0.5 : 1)) / 100;
}

/** Counters step forward and at nearly every frame as they should; what only nearly does may as well be a sum. */
const STEADY = 0.97;

/** [bytes] mask of the steady counters' bits. */
function countingBits(counters: readonly MapCounter[], bytes: number): Uint8Array {
  const others = new Uint8Array(bytes).fill(0xff);
  for (const counter of counters)
    if (counter.step > 0 && counter.confidence >= STEADY) claim(others, counter as Placement);
  return others.map((bits) => ~bits & 0xff);
}

/** Work at a place that holds no rule, in payload pairs read. */
const PLACE_STEPS = 200;
/** Below this share of frames that pass, the other places are tried as well. */
const PLAIN_PASS = 0.9995;

/** Places are tried from the likeliest on; where the rule fails now and then, a later place may do better. */
function* firstHolding(
  evidence: Evidence,
  usable: Uint8Array,
  attempt: (place: TagPlace) => Attempt | null,
  rows: PayloadRows,
  options: ChecksumOptions,
): Steps<Explained<MapChecksum> | null> {
  let best: Finished | null = null;
  for (const place of tagPlaces(evidence, usable, countingBits(options.counters, rows.bytes))) {
    const found = attempt(place);
    yield found ? rows.count * rows.bytes : evidence.pairs.length * PLACE_STEPS;
    const finished = found && finish(found, evidence, rows, options);
    if (finished && (!best || finished.passedShare > best.passedShare)) best = finished;
    if (best && best.passedShare >= PLAIN_PASS) break;
  }
  return best && best.checksum;
}

/**
 * Wide rules before narrow ones: a nibble of a wide rule may obey a narrow one, and a generator with the factor x^4 + 1 makes
 * all nibbles of a codeword come out even. The next checksum, given the bits that are still free to hold one and those that others hold.
 */
function* findNext(
  rows: PayloadRows,
  payloads: readonly Uint8Array[],
  usable: Uint8Array,
  taken: Uint8Array,
  options: ChecksumOptions,
): Steps<Explained<MapChecksum> | null> {
  const plain = gatherEvidence(rows.bytes, payloads, null, taken);
  const isWide = ({ length }: TagPlace): boolean => length >= 8;
  const sum = (place: TagPlace): Attempt | null => (isCopy(place, plain) ? null : attemptArithmetic(place, plain));
  const crc = (place: TagPlace): Attempt | null => (isCopy(place, plain) ? null : attemptCrc(place, plain, options.id));
  const tries: ((place: TagPlace) => Attempt | null)[] = [
    (place) => (isWide(place) ? attemptCopy(place, plain) : null),
    (place) => (isWide(place) ? sum(place) : null),
    (place) => (isWide(place) ? crc(place) : null),
    (place) => (isWide(place) ? null : (attemptCopy(place, plain) ?? sum(place))),
    (place) => (isWide(place) ? null : crc(place)),
  ];
  let found: Explained<MapChecksum> | null = null;
  for (const attempt of tries) found ??= yield* firstHolding(plain, usable, attempt, rows, options);
  const counter = options.counters[0];
  if (found || !counter) return found;
  const read = rawReader(counter as Placement);
  const grouped = gatherEvidence(rows.bytes, payloads, (payload) => read(payload, 0), taken);
  return yield* firstHolding(grouped, usable, (place) => attemptByCounter(place, grouped, counter), rows, options);
}

/** More separately guarded parts than this in one frame have not been heard of. */
const PARTS_MAX = 4;

/** Checksums of the rows, one for each separately guarded part: none covers another or what another covers holds. */
export function* findChecksums(rows: PayloadRows, options: ChecksumOptions): Steps<Explained<MapChecksum>[]> {
  const payloads = distinctPayloads(rows);
  if (payloads.length < PAYLOADS_MIN) return [];
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
