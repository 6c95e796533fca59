/**
 * Turns spans into field findings: sign by continuity (a value that crosses zero wraps around when read as unsigned),
 * kind, range, no-data fillings, the reasons in words, and how sure one may be.
 */
import { blankSignal } from '../map/blank-signal.ts';
import { crossesByte, type Placement } from '../frames/bits.ts';
import { codedValue, rawReader, type Coding } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';
import { grouped } from '../kit/figures.ts';
import { decideCoding, type CodingEvidence } from './coding.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { Span } from './segment.ts';
import type { FieldFinding } from './types.ts';

/** "b2" a whole byte, "b0_1" whole bytes 0 and 1; else with bits from the least to the most significant: "b3_bit6", "b1_2_bits4to7". */
export function placeName(placement: Placement): string {
  const { lsb, length, order } = placement;
  const endBit = lsb.bit + length - 1;
  const msbByte = lsb.byte + (order === 'little' ? 1 : -1) * (endBit >> 3);
  const first = Math.min(lsb.byte, msbByte);
  const last = Math.max(lsb.byte, msbByte);
  const bytes = first === last ? `b${first}` : `b${first}_${last}`;
  if (lsb.bit === 0 && (endBit & 7) === 7) return bytes;
  return length === 1 ? `${bytes}_bit${lsb.bit}` : `${bytes}_bits${lsb.bit}to${endBit & 7}`;
}

interface ValueColumn {
  /** [n] unsigned raw values, start-up fillings left out. */
  readonly values: Float64Array;
  /** Rows at the start that hold all ones although the value later moves. */
  readonly fillingRows: number;
  readonly sign: CodingEvidence;
}

/** given: how a person reads it. */
function readColumn(rows: PayloadRows, placement: Placement, given?: Coding): ValueColumn {
  const read = rawReader(placement);
  const all = new Float64Array(rows.count);
  for (let row = 0; row < rows.count; row++) all[row] = read(rows.data, row * rows.bytes);
  const { length } = placement;
  const sign = decideCoding(all, length);
  const ones = 2 ** length - 1;
  let filled = 0;
  while (filled < all.length && all[filled] === ones) filled++;
  const goesRound = (given ?? sign.coding) !== 'unsigned';
  const isFilling =
    length >= 4 &&
    filled > 0 &&
    filled < all.length &&
    isFarFrom(all, rows.joined, filled, goesRound ? ones + 1 : Infinity, ones);
  return { values: isFilling ? all.subarray(filled) : all, fillingRows: isFilling ? filled : 0, sign };
}

const timesWords = (count: number): string =>
  count === 1 ? 'once' : count === 2 ? 'twice' : `${grouped(count)} times`;

/** Whether the first value after a run of all ones lies further off than the value ever steps by itself; round: where it starts anew, if it does. */
function isFarFrom(all: Float64Array, joined: Uint8Array, filled: number, round: number, ones: number): boolean {
  const apart = (a: number, b: number): number => Math.min(Math.abs(a - b), round - Math.abs(a - b));
  let largest = 0;
  for (let row = filled + 1; row < all.length; row++)
    if (joined[row] !== 0) largest = Math.max(largest, apart(all[row] as number, all[row - 1] as number));
  return apart(all[filled] as number, ones) > Math.max(2 * largest, (ones + 1) / 16);
}

interface Range {
  readonly min: number;
  readonly max: number;
  readonly distinct: number;
  readonly largestStep: number;
  readonly moves: number;
}

const DISTINCT_COUNTED = 64;

function rangeOf(column: ValueColumn, coding: Coding, length: number): Range {
  let min = Infinity;
  let max = -Infinity;
  let largestStep = 0;
  let moves = 0;
  let last = Number.NaN;
  const distinct = new Set<number>();
  for (const raw of column.values) {
    const value = codedValue(raw, coding, length);
    if (value < min) min = value;
    if (value > max) max = value;
    if (distinct.size < DISTINCT_COUNTED) distinct.add(raw);
    if (value !== last && !Number.isNaN(last)) {
      moves++;
      largestStep = Math.max(largestStep, Math.abs(value - last));
    }
    last = value;
  }
  return { min, max, distinct: distinct.size, largestStep, moves };
}

function numberWords(span: Span, range: Range, sign: CodingEvidence): string[] {
  const width = range.max - range.min;
  const words: string[] = [];
  if (width > 0 && range.largestStep < width / 3) {
    words.push(
      `Read as one number it moves in small steps: none above 1/${grouped(Math.floor(width / range.largestStep))} of its range.`,
    );
  } else
    words.push(
      `Read as one number its ${grouped(range.moves)} moves take fewer bits to write down than any division of it.`,
    );
  if (crossesByte(span)) {
    words.push(
      span.orderMargin >= 20
        ? `The ${span.order === 'big' ? 'left' : 'right'} byte changes when the other wraps, so it is the higher one.`
        : 'The byte order is little supported: few carries were seen.',
    );
  }
  if (span.cost.isFloat)
    return [...words, 'Its bits are a sensible floating-point number in every frame, and read so it goes on smoothly.'];
  if (sign.bySmallness)
    words.push(
      'Where its top bit is set, those below it are too: small numbers below zero, reached by leaps; it was never seen to go through zero.',
    );
  else if (sign.coding === 'signed' && sign.throughZero === 0)
    words.push(
      'It began at the lowest number there is with a sign, as "no data" is said of values that have one; it never went through zero.',
    );
  if (sign.coding === 'signed' && sign.throughZero > 0)
    words.push(
      `It went through zero ${timesWords(sign.throughZero)}; read as unsigned it would leap across its range there.`,
    );
  if (sign.coding === 'sign-magnitude')
    words.push(
      `Its top bit alone changes where the rest is near zero, ${timesWords(sign.throughZero)}: a sign beside a magnitude.`,
    );
  if (sign.coding === 'bcd') words.push('None of its groups of four bits ever exceeds nine: decimal digits.');
  return words;
}

function whyOf(
  span: Span,
  kind: 'number' | 'states' | 'flag',
  range: Range,
  sign: CodingEvidence,
  column: ValueColumn,
): string {
  const words =
    kind === 'number'
      ? numberWords(span, range, sign)
      : kind === 'flag'
        ? [`One bit that changed ${timesWords(range.moves)} on its own.`]
        : [`${range.distinct} values that hold and change at once, ${timesWords(range.moves)} in all.`];
  if (column.fillingRows === 1) words.push('The first frame holds all ones: no data yet.');
  if (column.fillingRows > 1) words.push(`The first ${grouped(column.fillingRows)} frames hold all ones: no data yet.`);
  return words.join(' ');
}

function kindOf(span: Span, distinct: number): 'number' | 'states' | 'flag' {
  if (span.length === 1) return 'flag';
  if (span.cost.model === 'states') return 'states';
  return span.length <= 2 || distinct <= 2 ? 'states' : 'number';
}

/** A placement that a person fixed, as it is; only what was seen of it is added. */
/** given: how the person reads it; else as its values suggest. */
export function describePlaced(placement: Placement, rows: PayloadRows, name: string, given?: Coding): FieldFinding {
  const column = readColumn(rows, placement, given);
  const coding = given ?? column.sign.coding;
  const range = rangeOf(column, coding, placement.length);
  return {
    ...blankSignal(placement, name, null),
    coding,
    kind: placement.length === 1 ? 'flag' : 'number',
    observed: rows.count > 0 ? { min: range.min, max: range.max } : null,
    confidence: 1,
    evidence: [{ kind: 'by-hand' }],
    why: 'Placed by hand.',
  };
}

/** How sure a span is, once it is known by what share of its range it steps at most: 0..1. */
export type Judge = (stepShare: number) => number;

const stepShareOf = ({ min, max, largestStep }: Range): number => (max > min ? largestStep / (max - min) : 0);

/** A span as a finding. rows: all frames, or all of the page that `when` names. */
export function describeSpan(span: Span, rows: PayloadRows, name: string, when: When, judge: Judge): FieldFinding {
  const column = readColumn(rows, span);
  const { sign } = column;
  const preliminary = rangeOf(column, sign.coding, span.length);
  const isFloat = span.cost.isFloat === true;
  const kind = isFloat || sign.coding !== 'unsigned' ? 'number' : kindOf(span, preliminary.distinct);
  const coding = isFloat ? 'float' : kind === 'number' ? sign.coding : 'unsigned';
  const range = coding === sign.coding ? preliminary : rangeOf(column, coding, span.length);
  const ones = 2 ** span.length - 1;
  return {
    ...blankSignal(span, name, when),
    coding,
    kind,
    observed: { min: range.min, max: range.max },
    invalid: column.fillingRows > 0 ? [{ from: ones, to: ones, meaning: 'no data at start-up' }] : [],
    confidence: judge(stepShareOf(range)),
    why: whyOf(span, kind, range, sign, column),
  };
}
