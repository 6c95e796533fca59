/** Attempts to solve one place: each family fits its rule on the evidence and names it by the map's parameters. */
import { rawReader, type Placement } from '../../frames/bits.ts';
import { compileChecksum } from '../../map/checksum.ts';
import type { MapCounter } from '../../map/schema.ts';
import { findArithmetic, remainder, type ArithmeticRule } from './arithmetic.ts';
import { copyAt } from './copy.ts';
import { findCrc, isUsual } from './crc-solve.ts';
import { commonPart } from '../counter-range.ts';
import type { Evidence } from './evidence.ts';
import { nameArithmetic, nameCrc, nameCrcByCounter, type RuleParameters } from './name-rule.ts';
import { isCopy, tagValue, type TagPlace } from './places.ts';

/** A rule that other identifiers of the bus obey, and how it does here. */
export interface Lent {
  /** Identifiers of the bus that obey it; none where it is only akin to theirs. */
  readonly frames: number;
  /** Bits that agreed beyond those that say which rule and place it is: it fits by chance in one of 2^surplus cases. */
  readonly surplusBits: number;
  /** How likely it is among the rules that fit at this place. */
  readonly share: number;
}

export interface Attempt {
  readonly place: TagPlace;
  readonly parameters: RuleParameters;
  /** Other rules that fit the capture as well. */
  readonly rivals: number;
  readonly lent?: Lent;
}

/** The most frequent remainder over the payloads. */
export function usualConstant(values: readonly number[]): number {
  const times = new Map<number, number>();
  for (const value of values) times.set(value, (times.get(value) ?? 0) + 1);
  return [...times].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0])[0];
}

/**
 * The rule with the constant that most payloads have. With end-around carry a start of all ones counts as nothing, but an empty sum then shows all
 * ones and not zero: of the two the one that computes more payloads.
 */
export function nameOnPayloads(rule: ArithmeticRule, place: TagPlace, payloads: readonly Uint8Array[]): RuleParameters {
  const constant = usualConstant(payloads.map((payload) => remainder(rule, place, payload)));
  const named = nameArithmetic(rule, place, constant);
  if (named.carry !== 'end-around' || Number(named.init) !== 0) return named;
  const full = { ...named, init: `0x${(2 ** place.length - 1).toString(16).toUpperCase()}` };
  const rightBy = (parameters: RuleParameters): number => {
    const { lsb, length, order } = place;
    const compute = compileChecksum(
      { lsb: { ...lsb }, length, order, ...parameters, when: null, undetermined: [], confidence: 0 },
      { counters: [] },
    );
    return payloads.filter((payload) => Number(compute?.(payload, 0, payload.length)) === tagValue(place, payload))
      .length;
  };
  return rightBy(full) > rightBy(named) ? full : named;
}

export function attemptArithmetic(place: TagPlace, evidence: Evidence): Attempt | null {
  const found = findArithmetic(place, evidence);
  if (!found) return null;
  const { rule, rivals } = found;
  return { place, parameters: nameOnPayloads(rule, place, evidence.payloads), rivals };
}

export function attemptCopy(place: TagPlace, evidence: Evidence): Attempt | null {
  const parameters = copyAt(place, evidence);
  return parameters && { place, parameters, rivals: 0 };
}

export function attemptCrc(place: TagPlace, evidence: Evidence, id: number): Attempt | null {
  const crc = findCrc(place, evidence);
  if (!crc) return null;
  if (crc.rivals > 0 && !isUsual(place.length, crc.poly))
    return { place, parameters: { method: 'unsolved' }, rivals: crc.rivals };
  const parameters = nameCrc(crc, place, evidence.payloads.at(-1) as Uint8Array, id);
  return parameters && { place, parameters, rivals: crc.rivals };
}

/** One payload for each counter value from 0 on, or null where one never came. */
export function examplesByCounter(payloads: readonly Uint8Array[], counter: MapCounter): Uint8Array[] | null {
  const read = rawReader(counter as Placement);
  const examples: Uint8Array[] = [];
  for (const payload of payloads) examples[read(payload, 0)] ??= payload;
  const whole = Array.from({ length: counter.max + 1 }, (_, value) => examples[value] ?? examples[counter.min]);
  return whole.every((payload) => payload !== undefined) && seenAll(examples, counter) ? (whole as Uint8Array[]) : null;
}

/** Whether every value that it comes to was seen: an entry of the table that was not would be a guess. */
function seenAll(examples: readonly (Uint8Array | undefined)[], { min, max, step }: MapCounter): boolean {
  const apart = commonPart(max - min + 1, Math.abs(step));
  for (let value = min; value <= max; value += apart) if (examples[value] === undefined) return false;
  return true;
}

export function attemptByCounter(place: TagPlace, evidence: Evidence, counter: MapCounter): Attempt | null {
  if (isCopy(place, evidence)) return null;
  const examples = examplesByCounter(evidence.payloads, counter);
  if (!examples) return null;
  const crc = findCrc(place, evidence);
  if (!crc) return null;
  const parameters = nameCrcByCounter(crc, place, examples);
  return parameters && { place, parameters, rivals: crc.rivals };
}
