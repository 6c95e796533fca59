/** Statements that check a signal's member and write it to `p`; only for signals that `whyNotSet` lets through. */
import { bitPositions } from '../../frames/bits.ts';
import { codedLimits } from '../../map/coding.ts';
import { readExpression, writeStatements } from './bits.ts';
import type { CContext } from './context.ts';
import { floatRangeTest } from './float-order.ts';
import type { CSignal } from './member.ts';
import { allowedStates, fail, i64, meansInvalid, pow, sendingRange, wholeToRaw } from './raw-tests.ts';
import { floatTable, wholeTable } from './tables.ts';
import { doubleLiteral, u64 } from './text.ts';
import { absolute } from './whole-numbers.ts';

function codedFromPhysical({ signal, member }: CSignal): string {
  const { scale, offset } = signal;
  const value = `s->${member}`;
  if (offset !== 0) return `(${value} - ${doubleLiteral(offset)}) / ${doubleLiteral(scale)} + 0.0`;
  return scale === 1 ? value : `(${value} == 0.0) ? ${value} : ${value} / ${doubleLiteral(scale)}`;
}

function codedStatements(c: CSignal, context: CContext): string[] {
  if (!c.signal.table || c.signal.table.length === 0) return [`const double coded = ${codedFromPhysical(c)};`];
  const call = `${context.use('between')}(values, raws, ${c.signal.table.length}u, s->${c.member}, &coded)`;
  return [...floatTable(c.signal, 'backward'), 'double coded = 0.0;', `if (!${call}) {`, ...fail(c, context, 'RANGE')];
}

/** `minusZero`: a condition under which a zero of sign and magnitude carries the sign. */
function rawFromWhole(c: CSignal, context: CContext, minusZero: string): string {
  const top = u64(pow(c.bits - 1));
  switch (c.signal.coding) {
    case 'signed':
      return `(uint64_t)whole & ${u64(pow(c.bits) - 1n)}`;
    case 'sign-magnitude':
      return `(whole < 0 || (${minusZero})) ? (${top} | (uint64_t)(-whole)) : (uint64_t)whole`;
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
    ...meansInvalid(c, context),
  ];
}

/** Where the physical value does not carry the sign of a zero, one that the payload has already stays as it is. */
const keepsMinusZero = (c: CSignal): string =>
  `whole == 0 && (${readExpression(bitPositions(c.signal))}) == ${u64(pow(c.bits - 1))}`;

function minusZeroOf(c: CSignal, context: CContext): string {
  if (c.signal.coding !== 'sign-magnitude') return '0';
  const carriesSign = c.signal.offset === 0 && !c.signal.table?.length;
  return carriesSign ? `coded == 0.0 && ${context.use('sign_bit')}(coded)` : keepsMinusZero(c);
}

function wholeEncoding(c: CSignal, context: CContext): string[] {
  const limits = codedLimits(c.signal.coding, c.bits) ?? { min: 0, max: 0 };
  return [
    `if (!(coded > ${doubleLiteral(limits.min - 1)} && coded < ${doubleLiteral(limits.max + 1)})) {`,
    ...fail(c, context, 'RANGE'),
    `whole = ${context.use('nearest')}(coded);`,
    `if (!(whole >= ${i64(limits.min)} && whole <= ${i64(limits.max)})) {`,
    ...fail(c, context, 'RANGE'),
    ...wholeToRaw(c, context, rawFromWhole(c, context, minusZeroOf(c, context))),
  ];
}

function numberEncoding(c: CSignal, context: CContext): string[] {
  const isFloat = c.signal.coding === 'float';
  return [
    ...codedStatements(c, context),
    ...(isFloat ? [] : ['int64_t whole;']),
    'uint64_t raw;',
    ...(isFloat ? floatEncoding(c, context) : wholeEncoding(c, context)),
    ...writeStatements(c.signal, 'raw'),
  ];
}

/** The coded value nearest to `value`, which lies within the counts' limits and half a step beyond. */
function wholeFromCounts(c: CSignal, context: CContext): string[] {
  const { fixed } = c;
  if (!fixed) return [];
  if (fixed.table) {
    const call = `${context.use('whole_between')}(values, raws, ${fixed.table.length}u, value, &whole)`;
    return [`if (!${call}) {`, ...fail(c, context, 'RANGE')];
  }
  const { multiply, add } = fixed;
  if (multiply === 1n) return [`whole = ${add === 0n ? 'value' : `value - ${i64(add)}`};`];
  const difference = multiply > 0n ? `value - ${i64(add)}` : `${i64(add)} - value`;
  return [`whole = ${context.use('divide')}(${difference}, ${i64(absolute(multiply))});`];
}

function fixedEncoding(c: CSignal, context: CContext): string[] {
  const { fixed, signal } = c;
  if (!fixed) return [];
  const limits = codedLimits(signal.coding, c.bits) ?? { min: 0, max: 0 };
  const half = fixed.table ? 0n : absolute(fixed.multiply) / 2n;
  return [
    ...wholeTable(fixed.table, 'backward'),
    `const int64_t value = (int64_t)s->${c.member};`,
    'int64_t whole = 0;',
    'uint64_t raw;',
    `if (value < ${i64(fixed.min - half)} || value > ${i64(fixed.max + half)}) {`,
    ...fail(c, context, 'RANGE'),
    ...wholeFromCounts(c, context),
    `if (whole < ${i64(limits.min)} || whole > ${i64(limits.max)}) {`,
    ...fail(c, context, 'RANGE'),
    ...wholeToRaw(c, context, rawFromWhole(c, context, keepsMinusZero(c))),
    ...writeStatements(signal, 'raw'),
  ];
}

function bitsEncoding(c: CSignal, context: CContext): string[] {
  const range = sendingRange(c, context.ranges);
  return [
    `const uint64_t raw = (uint64_t)s->${c.member};`,
    ...(range ? [`const uint64_t order = ${context.use('float_order')}(raw, ${u64(pow(c.bits - 1))});`] : []),
    `if (!(${range ? floatRangeTest(range, c.bits === 32 ? 32 : 64) : '0'})) {`,
    ...fail(c, context, 'RANGE'),
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

export function encodeStatements(c: CSignal, context: CContext): string[] {
  switch (c.kind) {
    case 'integer':
      return integerEncoding(c, context);
    case 'fixed':
      return fixedEncoding(c, context);
    case 'bits':
      return bitsEncoding(c, context);
    default:
      return numberEncoding(c, context);
  }
}
