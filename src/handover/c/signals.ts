/** One signal in C: its member of the frame's struct, and the statements that decode and encode it. */
import { bitPositions, placementLength } from '../../frames/bits.ts';
import { codedLimits } from '../../map/coding.ts';
import { knownCodedRange, namedStates, type RangeChoice } from '../../map/limits.ts';
import { bigOf } from '../../map/raw-values.ts';
import type { MapSignal } from '../../map/schema.ts';
import { readExpression, writeStatements } from './bits.ts';
import type { Helper } from './helpers.ts';
import { commentText, doubleLiteral, u64 } from './text.ts';

/** double; uint32_t for states and flags; uint64_t raw beyond 53 bits; characters. Null: more bits than C takes here. */
export type MemberKind = 'number' | 'integer' | 'wide' | 'text' | null;

export interface CSignal {
  readonly signal: MapSignal;
  readonly bits: number;
  readonly kind: Exclude<MemberKind, null>;
  /** Of the member, unique in its struct; `<member>_valid` is free too. */
  readonly member: string;
  /** C condition of its page, or null. */
  readonly page: string | null;
  /** Macro of its number, for `failed`. */
  readonly number: string;
}

export interface CContext {
  readonly prefix: string;
  readonly macro: string;
  readonly use: (helper: Helper) => string;
  /** What the encoder keeps to. */
  readonly ranges: RangeChoice;
}

export function memberKind(signal: MapSignal): MemberKind {
  const bits = placementLength(signal);
  if (signal.coding === 'text') return 'text';
  if (bits > 64) return null;
  if (bits > 53 && signal.coding !== 'float') return 'wide';
  const plain = signal.coding === 'unsigned' && signal.scale === 1 && signal.offset === 0 && !signal.table;
  return plain && bits <= 32 && signal.kind !== 'number' ? 'integer' : 'number';
}

export function declareMember({ signal, kind, member, bits }: CSignal): string[] {
  const unit = signal.unit ? `, ${signal.unit}` : '';
  const note = `/* ${commentText(`${signal.name}${unit}${kind === 'wide' ? ', raw: more than 53 bits' : ''}`)} */`;
  const types = { number: 'double', integer: 'uint32_t', wide: 'uint64_t', text: 'char' } as const;
  const size = kind === 'text' ? `[${Math.floor(bits / 8) + 1}]` : '';
  return [`${types[kind]} ${member}${size}; ${note}`, `uint8_t ${member}_valid;`];
}

const pow = (bits: number): bigint => 1n << BigInt(bits);

function codedExpression({ signal, bits }: CSignal, context: CContext): string {
  const top = u64(pow(bits - 1));
  switch (signal.coding) {
    case 'signed':
      return `((raw & ${top}) != 0u) ? -(double)(${u64(pow(bits))} - raw) : (double)raw`;
    case 'sign-magnitude':
      return `((raw & ${top}) != 0u) ? -(double)(raw - ${top}) : (double)raw`;
    case 'bcd':
      return `${context.use('from_bcd')}(raw)`;
    case 'float':
      return `${context.use(bits === 32 ? 'float32' : 'float64')}(raw)`;
    default:
      return '(double)raw';
  }
}

/** A condition on `raw`; null where no raw value is invalid. Comparisons that always hold are left away. */
function invalidCondition(signal: MapSignal, bits: number): string | null {
  const most = pow(bits) - 1n;
  const tests = signal.invalid.map(({ from, to }) => {
    const parts = [bigOf(from) > 0n && `raw >= ${u64(bigOf(from))}`, bigOf(to) < most && `raw <= ${u64(bigOf(to))}`];
    return `(${parts.filter(Boolean).join(' && ') || '1'})`;
  });
  return tests.length > 0 ? tests.join(' || ') : null;
}

function tableArrays(signal: MapSignal, backward: boolean): string[] {
  const points = signal.table ?? [];
  const falling = points.length > 1 && (points[0]?.[1] ?? 0) > (points.at(-1)?.[1] ?? 0);
  const ordered = backward && falling ? points.toReversed() : points;
  const list = (index: 0 | 1): string => ordered.map((point) => doubleLiteral(point[index])).join(', ');
  return [`static const double raws[] = {${list(0)}};`, `static const double values[] = {${list(1)}};`];
}

function scaleStatements({ signal, member }: CSignal, context: CContext): string[] {
  const { scale, offset, table } = signal;
  if (table && table.length > 0) {
    const call = `${context.use('between')}(raws, values, ${table.length}u, coded, &s->${member})`;
    return [`if (!${call}) {`, `  s->${member} = 0.0;`, `  s->${member}_valid = ${context.macro}_INVALID;`, '}'];
  }
  const scaled = scale === 1 ? 'coded' : `coded * ${doubleLiteral(scale)}`;
  if (offset !== 0) return [`s->${member} = ${scaled} + ${doubleLiteral(offset)};`];
  return [scale === 1 ? `s->${member} = coded;` : `s->${member} = (coded == 0.0) ? coded : ${scaled};`];
}

function invalidateIf(condition: string | null, { member }: CSignal, context: CContext): string[] {
  if (!condition) return [];
  return [`if (${condition}) {`, `  s->${member} = 0;`, `  s->${member}_valid = ${context.macro}_INVALID;`, '}'];
}

function numberDecoding(c: CSignal, context: CContext): string[] {
  const notNumber = { bcd: 'coded < 0.0', float: 'coded != coded' }[c.signal.coding as string] ?? null;
  const arrays = c.signal.table && c.signal.table.length > 0 ? tableArrays(c.signal, false) : [];
  const conditions = [invalidCondition(c.signal, c.bits), notNumber && `(${notNumber})`].filter(Boolean);
  return [
    ...arrays,
    `const uint64_t raw = ${readExpression(bitPositions(c.signal))};`,
    `const double coded = ${codedExpression(c, context)};`,
    `s->${c.member}_valid = ${context.macro}_VALID;`,
    ...scaleStatements(c, context),
    ...invalidateIf(conditions.join(' || ') || null, c, context),
  ];
}

function integerDecoding(c: CSignal, context: CContext): string[] {
  const type = c.kind === 'wide' ? 'raw' : '(uint32_t)raw';
  return [
    `const uint64_t raw = ${readExpression(bitPositions(c.signal))};`,
    `s->${c.member} = ${type};`,
    `s->${c.member}_valid = ${context.macro}_VALID;`,
    ...invalidateIf(invalidCondition(c.signal, c.bits), c, context),
  ];
}

/** Characters in payload order, as the map's text rule says: order "little" from the least significant byte up. */
function textDecoding(c: CSignal, context: CContext): string[] {
  const positions = bitPositions(c.signal);
  const count = Math.floor(c.bits / 8);
  const characters = Array.from({ length: count }, (_, i) => positions.slice(8 * i, 8 * i + 8));
  if (c.signal.order === 'big') characters.reverse();
  return [
    ...characters.map((bits, i) => `s->${c.member}[${i}] = (char)(unsigned char)(${readExpression(bits)});`),
    `s->${c.member}[${count}] = '\\0';`,
    `s->${c.member}_valid = ${context.macro}_VALID;`,
  ];
}

/** Statements that fill the member from the payload `p`. */
export function decodeStatements(c: CSignal, context: CContext): string[] {
  if (c.kind === 'text') return textDecoding(c, context);
  return c.kind === 'number' ? numberDecoding(c, context) : integerDecoding(c, context);
}

const i64 = (value: number): string => `INT64_C(${BigInt(Math.trunc(value))})`;

/** Ends of what may be sent, in coded steps, within what the bits hold; null where only named states may be sent. */
function sendingRange({ signal, bits }: CSignal, choice: RangeChoice): { min: number; max: number } | null {
  const known =
    knownCodedRange(signal, choice) ??
    (signal.kind === 'flag' && namedStates(signal).length === 0 ? { min: 0, max: 1 } : null);
  const limits = codedLimits(signal.coding, bits);
  if (!known || !limits) return null;
  return { min: Math.max(known.min, limits.min), max: Math.min(known.max, limits.max) };
}

const fail = (c: CSignal, context: CContext, code: 'RANGE' | 'MEANS_INVALID'): string[] => [
  `  s->failed = ${c.number};`,
  `  return ${context.macro}_${code};`,
  '}',
];

function allowedStates(signal: MapSignal, bits: number): string[] {
  return namedStates(signal)
    .filter((raw) => raw < 2 ** bits)
    .map((raw) => `raw == ${u64(raw)}`);
}

function codedFromPhysical({ signal, member }: CSignal): string {
  const { scale, offset } = signal;
  const value = `s->${member}`;
  if (offset !== 0) return `(${value} - ${doubleLiteral(offset)}) / ${doubleLiteral(scale)} + 0.0`;
  return scale === 1 ? value : `(${value} == 0.0) ? ${value} : ${value} / ${doubleLiteral(scale)}`;
}

function codedStatements(c: CSignal, context: CContext): string[] {
  if (!c.signal.table || c.signal.table.length === 0) return [`const double coded = ${codedFromPhysical(c)};`];
  const call = `${context.use('between')}(values, raws, ${c.signal.table.length}u, s->${c.member}, &coded)`;
  return [...tableArrays(c.signal, true), 'double coded = 0.0;', `if (!${call}) {`, ...fail(c, context, 'RANGE')];
}

function rawFromWhole(c: CSignal, context: CContext): string {
  const top = u64(pow(c.bits - 1));
  switch (c.signal.coding) {
    case 'signed':
      return `(uint64_t)whole & ${u64(pow(c.bits) - 1n)}`;
    case 'sign-magnitude':
      return `(whole < 0 || (coded == 0.0 && ${context.use('sign_bit')}(coded))) ? (${top} | (uint64_t)(-whole)) : (uint64_t)whole`;
    case 'bcd':
      return `${context.use('to_bcd')}(whole)`;
    default:
      return '(uint64_t)whole';
  }
}

function floatEncoding(c: CSignal, context: CContext): string[] {
  const range = sendingRange(c, context.ranges);
  const test = range ? `coded >= ${doubleLiteral(range.min)} && coded <= ${doubleLiteral(range.max)}` : '0';
  return [
    `if (!(${test})) {`,
    ...fail(c, context, 'RANGE'),
    `raw = ${context.use(c.bits === 32 ? 'to_float32' : 'to_float64')}(coded);`,
  ];
}

function wholeEncoding(c: CSignal, context: CContext): string[] {
  const limits = codedLimits(c.signal.coding, c.bits) ?? { min: 0, max: 0 };
  const range = sendingRange(c, context.ranges);
  const tests = [
    ...(range ? [`(whole >= ${i64(range.min)} && whole <= ${i64(range.max)})`] : []),
    ...allowedStates(c.signal, c.bits).map((test) => `(${test})`),
  ];
  return [
    `if (!(coded > ${doubleLiteral(limits.min - 1)} && coded < ${doubleLiteral(limits.max + 1)})) {`,
    ...fail(c, context, 'RANGE'),
    `whole = ${context.use('nearest')}(coded);`,
    `if (!(whole >= ${i64(limits.min)} && whole <= ${i64(limits.max)})) {`,
    ...fail(c, context, 'RANGE'),
    `raw = ${rawFromWhole(c, context)};`,
    `if (!(${tests.join(' || ') || '0'})) {`,
    ...fail(c, context, 'RANGE'),
  ];
}

function meansInvalid(c: CSignal, context: CContext): string[] {
  const condition = invalidCondition(c.signal, c.bits);
  return condition ? [`if (${condition}) {`, ...fail(c, context, 'MEANS_INVALID')] : [];
}

function numberEncoding(c: CSignal, context: CContext): string[] {
  const isFloat = c.signal.coding === 'float';
  return [
    ...codedStatements(c, context),
    ...(isFloat ? [] : ['int64_t whole;']),
    'uint64_t raw;',
    ...(isFloat ? floatEncoding(c, context) : wholeEncoding(c, context)),
    ...meansInvalid(c, context),
    ...writeStatements(c.signal, 'raw'),
  ];
}

function integerEncoding(c: CSignal, context: CContext): string[] {
  const range = sendingRange(c, context.ranges);
  const parts = range && [
    range.min > 0 && `raw >= ${u64(BigInt(Math.trunc(range.min)))}`,
    range.max < 2 ** 32 - 1 && `raw <= ${u64(BigInt(Math.trunc(Math.max(0, range.max))))}`,
  ];
  const tests = [
    ...(parts ? [`(${parts.filter(Boolean).join(' && ') || '1'})`] : []),
    ...allowedStates(c.signal, c.bits),
  ];
  return [
    `const uint64_t raw = (uint64_t)s->${c.member};`,
    `if (!(${tests.join(' || ') || '0'})) {`,
    ...fail(c, context, 'RANGE'),
    ...meansInvalid(c, context),
    ...writeStatements(c.signal, 'raw'),
  ];
}

/** Statements that check the member and write it to `p`; only for signals that `whyNotSet` lets through. */
export function encodeStatements(c: CSignal, context: CContext): string[] {
  return c.kind === 'integer' ? integerEncoding(c, context) : numberEncoding(c, context);
}
