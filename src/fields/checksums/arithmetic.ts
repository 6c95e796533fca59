/**
 * Sums and exclusive ors, of bytes or nibbles, as they stand or complemented, with dropped or end-around carry.
 * A rule holds where tag minus computed value is the same in every pair of payloads.
 */
import type { MapChecksum } from '../../map/schema.ts';
import { anyCoverages, type Coverage } from './coverage.ts';
import { rankOf, SURPLUS_BITS } from './crc-solve.ts';
import type { Evidence } from './evidence.ts';
import { tagValue, type TagPlace } from './places.ts';

type ArithmeticMethod = 'xor' | 'sum' | 'sum-complement' | 'sum-end-around' | 'sum-end-around-complement';
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

/** The first rule that holds at a place: widest coverage first, simplest method first. counting: [bytes] mask of counters. */
export function findArithmetic(place: TagPlace, evidence: Evidence, counting: Uint8Array): ArithmeticFound | null {
  if (place.length > 16) return null;
  const coverages = anyCoverages(evidence, place);
  const triedBits = Math.log2(coverages.length * METHODS.length);
  const methods = methodsAt(place, evidence);
  for (const covers of coverages) {
    if (!isSubstantial(covers, place, evidence, counting)) continue;
    const fitting = fittingRules(covers, methods, place, evidence);
    if (fitting.length === 0 || place.length * rankOf(place, covers, evidence) < triedBits + SURPLUS_BITS) continue;
    return { rule: fitting[0] as ArithmeticRule, rivals: fitting.length - 1 };
  }
  return null;
}

/** The lowest bit of a sum is the exclusive or of lowest bits, unless a carry comes round to it. */
function methodsAt(place: TagPlace, { relations }: Evidence): readonly ArithmeticMethod[] {
  const lowest = { positions: place.positions.slice(0, 1) };
  if (relations.some(({ allow }) => allow(lowest))) return METHODS;
  return METHODS.filter((method) => method.includes('end-around'));
}

/** An exclusive or of bytes says nothing of a tag's further bits. */
const UNIT_BITS = 8;

/** Rules of one coverage that hold, those that fail least; the simplest first. */
function fittingRules(
  covers: Coverage,
  methods: readonly ArithmeticMethod[],
  place: TagPlace,
  evidence: Evidence,
): ArithmeticRule[] {
  const fitting = unitsFor(place).flatMap((unit) =>
    methods.flatMap((method) => {
      if (method === 'xor' && place.length > UNIT_BITS) return [];
      const rule = { method, unit, covers };
      const failed = failuresOf(rule, place, evidence);
      return failed === null ? [] : [{ rule, failed }];
    }),
  );
  const least = Math.min(...fitting.map(({ failed }) => failed));
  return fitting.filter(({ failed }) => failed === least).map(({ rule }) => rule);
}

/** One moving byte alone, copied or complemented, is a copy and no checksum, unless that byte holds the counter. */
function isSubstantial(covers: Coverage, place: TagPlace, evidence: Evidence, counting: Uint8Array): boolean {
  const moving = covers.filter((byte) => ((evidence.moved[byte] as number) & ~(place.mask[byte] as number)) !== 0);
  return moving.length >= 2 || (moving.length === 1 && counting[moving[0] as number] !== 0);
}
