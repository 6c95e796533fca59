/**
 * Sums and exclusive ors, of bytes or nibbles, as they stand or complemented, with dropped or end-around carry.
 * A rule holds where tag minus computed value is the same in every pair of payloads.
 */
import type { MapChecksum } from '../../map/schema.ts';
import { anyCoverages, leavesOut, SHORT_FRAME, sumCoverages, type Coverage } from './coverage.ts';
import { rankOf, SURPLUS_BITS } from './crc-solve.ts';
import type { Evidence } from './evidence.ts';
import { tagValue, type TagPlace } from './places.ts';

export type ArithmeticMethod = 'xor' | 'sum' | 'sum-complement' | 'sum-end-around' | 'sum-end-around-complement';
export interface ArithmeticRule {
  readonly method: ArithmeticMethod;
  readonly unit: NonNullable<MapChecksum['unit']>;
  readonly covers: Coverage;
}

const METHODS: readonly ArithmeticMethod[] = [
  'xor',
  'sum',
  'sum-complement',
  'sum-end-around',
  'sum-end-around-complement',
];

/** The covered units combined: sums in full, exclusive ors folded. */
function combine(rule: ArithmeticRule, place: TagPlace, payload: Uint8Array): number {
  const isXor = rule.method === 'xor';
  let total = 0;
  for (const byte of rule.covers) {
    const value = (payload[byte] as number) & ~(place.mask[byte] as number);
    if (rule.unit === 'nibble')
      total = isXor ? total ^ (value >> 4) ^ (value & 15) : total + (value >> 4) + (value & 15);
    else total = isXor ? total ^ value : total + value;
  }
  return total;
}

/** What remains of the tag once the covered units are taken out: the rule's constant. */
export function remainder(rule: ArithmeticRule, place: TagPlace, payload: Uint8Array): number {
  const full = 2 ** place.length;
  const total = combine(rule, place, payload);
  const tag = tagValue(place, payload);
  switch (rule.method) {
    case 'xor':
      return (tag ^ total) & (full - 1);
    case 'sum':
      return (((tag - total) % full) + full) % full;
    case 'sum-complement':
      return (tag + total) % full;
    case 'sum-end-around':
      return (((tag - total) % (full - 1)) + full - 1) % (full - 1);
    case 'sum-end-around-complement':
      return (tag + total) % (full - 1);
  }
}

/** A few frames may be broken (bit errors, a start-up payload without a checksum): this share must hold. */
const HOLDS_MIN = 0.98;

/** So many failures, and beyond them one in four, are never met with a rule that holds. */
const UNLUCKY = 3;

/**
 * Pairs in which the rule failed; null where it failed in too many, or too few tags were seen. Read from the middle on: what is broken is
 * so mostly at the start.
 */
function failuresOf(rule: ArithmeticRule, place: TagPlace, evidence: Evidence): number | null {
  let failed = 0;
  const { pairs, payloads } = evidence;
  const allowed = Math.floor((1 - HOLDS_MIN) * pairs.length);
  const tags = new Set<number>();
  for (let read = 0; read < pairs.length; read++) {
    const [a, b] = pairs[(read + (pairs.length >> 1)) % pairs.length] as readonly [number, number];
    const [first, second] = [payloads[a] as Uint8Array, payloads[b] as Uint8Array];
    if (remainder(rule, place, first) !== remainder(rule, place, second)) {
      if (++failed > allowed || failed > UNLUCKY + read / 4) return null;
    }
    tags.add(tagValue(place, second));
  }
  return tags.size >= TAGS_MIN ? failed : null;
}

/** Different tag values that must have been seen before a rule is believed. */
const TAGS_MIN = 5;

function unitsFor(place: TagPlace): readonly ArithmeticRule['unit'][] {
  return place.length === 4 ? ['nibble', 'byte'] : ['byte'];
}

export interface ArithmeticFound {
  readonly rule: ArithmeticRule;
  /** Other methods that fit the capture as well: little moved, so that they come to the same. */
  readonly rivals: number;
}

interface Search {
  readonly coverages: readonly Coverage[];
  readonly methods: readonly ArithmeticMethod[];
  readonly units: readonly ArithmeticRule['unit'][];
}

/** The lowest bit of a sum is the exclusive or of lowest bits, unless a carry comes round to it. */
function searchesAt(place: TagPlace, evidence: Evidence): readonly Search[] {
  const { relations, bytes } = evidence;
  const units = unitsFor(place);
  const lowest = { positions: place.positions.slice(0, 1) };
  const binding = relations.filter(({ allow }) => allow(lowest));
  const around = METHODS.filter((method) => method.includes('end-around'));
  if (bytes <= SHORT_FRAME)
    return [{ coverages: anyCoverages(evidence, place), methods: binding.length > 0 ? METHODS : around, units }];
  const plain = METHODS.filter((method) => !method.includes('end-around'));
  const sums = units.flatMap((unit): Search[] => {
    const columns = unit === 'nibble' ? LOWEST_OF_NIBBLES : LOWEST;
    const leaning = binding.map((relations) => relations.lowestLeaning(place, columns)).find((each) => each !== null);
    return leaning ? [{ coverages: sumCoverages(evidence, place, leaning), methods: plain, units: [unit] }] : [];
  });
  return [...sums, { coverages: anyCoverages(evidence, place), methods: around, units }];
}
const LOWEST = 0x01;
const LOWEST_OF_NIBBLES = 0x11;

/**
 * The first rule that holds at a place: widest coverage first, simplest method first; of long frames the narrowest that leaves out what is guarded
 * apart.
 */
export function findArithmetic(place: TagPlace, evidence: Evidence): ArithmeticFound | null {
  if (place.length > 16) return null;
  for (const { coverages, methods, units } of searchesAt(place, evidence)) {
    const triedBits = Math.log2(Math.max(1, coverages.length) * METHODS.length);
    let found: (ArithmeticFound & Fitting) | null = null;
    for (const covers of coverages) {
      if (found && (evidence.bytes <= SHORT_FRAME || !leavesOut(evidence, place, covers, found.rule.covers))) continue;
      if (!isSubstantial(covers, place, evidence)) continue;
      const fitting = fittingRules(covers, methods, units, place, evidence);
      const best = fitting[0];
      if (!best || (found && best.failed > found.failed)) continue;
      if (place.length * rankOf(place, covers, evidence) < triedBits + SURPLUS_BITS) continue;
      found = { ...best, rivals: fitting.length - 1 };
      if (evidence.bytes <= SHORT_FRAME) break;
    }
    if (found) return found;
  }
  return null;
}

/** An exclusive or of bytes says nothing of a tag's further bits. */
const UNIT_BITS = 8;

interface Fitting {
  readonly rule: ArithmeticRule;
  /** Pairs of payloads in which it failed. */
  readonly failed: number;
}

/** Rules of one coverage that hold, those that fail least; the simplest first. */
function fittingRules(
  covers: Coverage,
  methods: readonly ArithmeticMethod[],
  units: readonly ArithmeticRule['unit'][],
  place: TagPlace,
  evidence: Evidence,
): Fitting[] {
  const fitting = units.flatMap((unit) =>
    methods.flatMap((method) => {
      if (method === 'xor' && place.length > UNIT_BITS) return [];
      const rule = { method, unit, covers };
      const failed = failuresOf(rule, place, evidence);
      return failed === null ? [] : [{ rule, failed }];
    }),
  );
  const least = Math.min(...fitting.map(({ failed }) => failed));
  const best = fitting.filter(({ failed }) => failed === least);
  const isSame = ({ rule }: Fitting): boolean =>
    best.some((each) => rule.method === AROUND[each.rule.method] && neverCarries(each.rule, place, evidence));
  return best.filter((each) => !isSame(each));
}

/** The same method with its carry brought round. */
const AROUND: Partial<Record<ArithmeticMethod, ArithmeticMethod>> = {
  sum: 'sum-end-around',
  'sum-complement': 'sum-end-around-complement',
};

/**
 * Whether a sum is so wide that no payload carries out of it, as one of 16 bits over few bytes: then it comes to the same however a carry is treated, and
 * that is no other rule.
 */
function neverCarries(rule: ArithmeticRule, place: TagPlace, { payloads }: Evidence): boolean {
  const most = rule.covers.length * (rule.unit === 'nibble' ? 30 : 255);
  const ones = 2 ** place.length - 1;
  const constant = remainder(rule, place, payloads.at(-1) as Uint8Array);
  return rule.method === 'sum' ? constant + most < ones : ones - constant + most < ones;
}

/** One moving byte alone, copied or complemented, is a copy and no checksum; a counter may be told twice. */
function isSubstantial(covers: Coverage, place: TagPlace, evidence: Evidence): boolean {
  return covers.filter((byte) => ((evidence.moved[byte] as number) & ~(place.mask[byte] as number)) !== 0).length >= 2;
}
