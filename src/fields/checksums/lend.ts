/**
 * Rules of the bus tried on an identifier that showed too little to be solved alone. A known rule at a known place needs far fewer independent
 * payloads: each of them agrees by chance in one of 2^width cases, so that with n of them and a share s of rule and place among all that are tried a
 * false claim has the odds of 1 in s * 2^(n * width). Constants (secrets, the identifier) are the frame's own and drop out of differences.
 */
import { rawReader, type Placement } from '../../frames/bits.ts';
import { compileSmallCrc } from '../../map/crc.ts';
import type { MapCounter } from '../../map/schema.ts';
import { remainder, type ArithmeticMethod, type ArithmeticRule } from './arithmetic.ts';
import { examplesByCounter, nameOnPayloads, usualConstant, type Attempt } from './attempt.ts';
import { copyAt } from './copy.ts';
import { rankOf } from './crc-solve.ts';
import { gatherEvidence, rankWithin, type Evidence } from './evidence.ts';
import type { RuleHabit } from './lend-habits.ts';
import { hypothesesFor, type Hypothesis, type LendTo } from './lend-hypotheses.ts';
import { nameCrc, nameCrcByCounter, type RuleParameters } from './name-rule.ts';
import { tagValue, type TagPlace } from './places.ts';

/** Bits of agreement beyond those that say which rule and place it is, before a lent rule is believed: false in one of 4096 frames without a guard. */
const SURPLUS_MIN = 12;
/** Share of the payloads that must obey it: broken ones and those before a module has values do not. */
const HOLDS_MIN = 0.98;
const METHODS: Readonly<Record<string, ArithmeticMethod>> = {
  'drop false': 'sum',
  'drop true': 'sum-complement',
  'end-around false': 'sum-end-around',
  'end-around true': 'sum-end-around-complement',
};

function arithmeticOf({ habit, covers }: Hypothesis): ArithmeticRule {
  const { method, carry, complemented, unit } = habit;
  const own = method === 'xor' ? 'xor' : METHODS[`${carry} ${complemented}`];
  return { method: own as ArithmeticMethod, unit, covers };
}

/** What is left of each payload's tag when the rule without its constants is taken out. */
function leftOvers(hypothesis: Hypothesis, payloads: readonly Uint8Array[]): number[] {
  const { habit, place, covers } = hypothesis;
  if (habit.method !== 'crc') {
    const rule = arithmeticOf(hypothesis);
    return payloads.map((payload) => remainder(rule, place, payload));
  }
  const { poly, reflected, suffixBytes, length } = habit;
  const crc = compileSmallCrc({
    width: length,
    poly: BigInt(poly),
    init: 0n,
    refin: reflected,
    refout: reflected,
    xorout: 0n,
  });
  return payloads.map((payload) => {
    let register = crc.start;
    for (const byte of covers) register = crc.feed(register, (payload[byte] as number) & ~(place.mask[byte] as number));
    for (let behind = 0; behind < suffixBytes; behind++) register = crc.feed(register, 0);
    return (crc.finish(register) ^ tagValue(place, payload)) >>> 0;
  });
}

/**
 * Independent payloads in which the tag moves: a place that stands still, or moves in a few of them only, agrees with every rule that foresees no
 * move, as the low half of a sum does where nothing but a counter's high half moves.
 */
function rankWhereMoved(place: TagPlace, covers: readonly number[], own: Evidence): number {
  const mask = place.mask.slice();
  for (const byte of covers) mask[byte] = 0xff;
  const differences = own.pairs.flatMap(([a, b]) => {
    const [first, second] = [own.payloads[a] as Uint8Array, own.payloads[b] as Uint8Array];
    return tagValue(place, first) === tagValue(place, second)
      ? []
      : [first.map((bits, byte) => bits ^ (second[byte] as number))];
  });
  return rankWithin(differences, mask);
}

/** One payload that obeys the rule, of those whose constant is the usual one; null where too many have another. */
function obeying(
  left: readonly number[],
  classes: readonly number[],
  payloads: readonly Uint8Array[],
): Uint8Array[] | null {
  const byClass = new Map<number, number[]>();
  classes.forEach((own, index) => byClass.set(own, [...(byClass.get(own) ?? []), index]));
  const kept: Uint8Array[] = [];
  for (const members of byClass.values()) {
    const usual = usualConstant(members.map((index) => left[index] as number));
    for (const index of members) if (left[index] === usual) kept.push(payloads[index] as Uint8Array);
  }
  return kept.length >= HOLDS_MIN * payloads.length ? kept : null;
}

function named(hypothesis: Hypothesis, kept: readonly Uint8Array[], to: LendTo): RuleParameters | null {
  const { habit, place, covers } = hypothesis;
  const { poly, reflected, suffixBytes } = habit;
  if (habit.method !== 'crc') {
    const rule = arithmeticOf(hypothesis);
    return nameOnPayloads(rule, place, kept);
  }
  const rule = { poly, reflected, covers, suffixBytes, rivals: 0 };
  if (habit.byCounter === null) return nameCrc(rule, place, kept.at(-1) as Uint8Array, to.id);
  const examples = examplesByCounter(kept, to.counters[0] as MapCounter);
  return examples && nameCrcByCounter(rule, place, examples);
}

function attempt(hypothesis: Hypothesis, to: LendTo): Attempt | null {
  const { habit, share, place, covers } = hypothesis;
  const { frames } = habit;
  const { evidence } = to;
  const { payloads } = evidence;
  if (habit.method === 'copy') {
    const parameters = copyAt(place, evidence, true);
    const surplusBits = place.length * rankOf(place, [], evidence) + Math.log2(share / covers.length);
    return parameters && { place, parameters, rivals: 0, lent: { frames, surplusBits, share } };
  }
  const counter = to.counters[0];
  if (habit.byCounter !== null && !counter) return null;
  const read = habit.byCounter === null ? () => 0 : rawReader(counter as unknown as Placement);
  const classes = payloads.map((payload) => read(payload, 0));
  const kept = obeying(leftOvers(hypothesis, payloads), classes, payloads);
  if (!kept) return null;
  const own =
    habit.byCounter === null ? evidence : gatherEvidence(evidence.bytes, payloads, (payload) => read(payload, 0));
  const surplusBits = place.length * rankWhereMoved(place, covers, own) + Math.log2(share);
  const parameters = named(hypothesis, kept, to);
  return parameters && { place, parameters, rivals: 0, lent: { frames, surplusBits, share } };
}

/** Each with the other rules that hold at its place over the same bytes, by how much likelier it is than they. */
function withRivals(attempts: readonly Attempt[]): Attempt[] {
  const placeOf = ({ place, parameters }: Attempt): string =>
    [...place.positions, ' ', ...(parameters.covers ?? [])].join();
  return attempts.map((own) => {
    const rules = new Map<string, number>();
    for (const each of attempts)
      if (placeOf(each) === placeOf(own)) rules.set(JSON.stringify(each.parameters), each.lent?.share ?? 0);
    const all = [...rules.values()].reduce((sum, share) => sum + share, 0);
    const lent = own.lent && { ...own.lent, share: own.lent.share / all };
    return { ...own, rivals: rules.size - 1, ...(lent ? { lent } : {}) };
  });
}

const isEnough = ({ lent, parameters }: Attempt): boolean =>
  parameters.method === 'copy' || (lent?.surplusBits ?? 0) >= SURPLUS_MIN;

/** The lent rules that hold, the likeliest first. */
export function lentAttempts(habits: readonly RuleHabit[], to: LendTo): Attempt[] {
  return withRivals(hypothesesFor(habits, to).flatMap((each) => attempt(each, to) ?? [])).filter(isEnough);
}
