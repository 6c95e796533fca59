/** Statements that fill a signal's member of `s` from the payload `p`. */
import { bitPositions } from '../../frames/bits.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import { floatTable, wholeTable } from './tables.ts';
import type { CSignal } from './member.ts';
import { i64, invalidCondition, pow } from './raw-tests.ts';
import { doubleLiteral, u64 } from './text.ts';

/** The number that `raw` stands for, in the type given. */
function codedExpression({ signal, bits }: CSignal, context: CContext, type: 'double' | 'int64_t'): string {
  const top = u64(pow(bits - 1));
  switch (signal.coding) {
    case 'signed':
      return `((raw & ${top}) != 0u) ? -(${type})(${u64(pow(bits))} - raw) : (${type})raw`;
    case 'sign-magnitude':
      return `((raw & ${top}) != 0u) ? -(${type})(raw - ${top}) : (${type})raw`;
    case 'bcd':
      return `${context.use(type === 'double' ? 'from_bcd' : 'whole_from_bcd')}(raw)`;
    case 'float':
      return `${context.use(bits === 32 ? 'float32' : 'float64')}(raw)`;
    default:
      return `(${type})raw`;
  }
}

function invalidateIf(condition: string | null, { member }: CSignal, context: CContext): string[] {
  if (!condition) return [];
  return [`if (${condition}) {`, `  s->${member} = 0;`, `  s->${member}_valid = ${context.macro}_INVALID;`, '}'];
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

function numberDecoding(c: CSignal, context: CContext): string[] {
  const notNumber = { bcd: '(coded < 0.0)', float: '(coded != coded)' }[c.signal.coding as string] ?? null;
  const conditions = [invalidCondition(c.signal, c.bits), notNumber].filter(Boolean);
  return [
    ...floatTable(c.signal, 'forward'),
    `const uint64_t raw = ${readExpression(bitPositions(c.signal))};`,
    `const double coded = ${codedExpression(c, context, 'double')};`,
    `s->${c.member}_valid = ${context.macro}_VALID;`,
    ...scaleStatements(c, context),
    ...invalidateIf(conditions.join(' || ') || null, c, context),
  ];
}

/** "coded * 5 + 3" as int64_t. */
function countsExpression({ fixed }: CSignal): string {
  const times = fixed && fixed.multiply !== 1n ? `coded * ${i64(fixed.multiply)}` : 'coded';
  return fixed && fixed.add !== 0n ? `${times} + ${i64(fixed.add)}` : times;
}

function fixedDecoding(c: CSignal, context: CContext): string[] {
  const { member, fixed } = c;
  const table = fixed?.table ?? null;
  const type = fixed?.type ?? 'int64_t';
  const notNumber = c.signal.coding === 'bcd' ? '(coded < 0)' : null;
  const outside = table ? `!${context.use('whole_between')}(raws, values, ${table.length}u, coded, &value)` : null;
  const conditions = [invalidCondition(c.signal, c.bits), notNumber, outside && `(${outside})`].filter(Boolean);
  return [
    ...wholeTable(table, 'forward'),
    `const uint64_t raw = ${readExpression(bitPositions(c.signal))};`,
    `const int64_t coded = ${codedExpression(c, context, 'int64_t')};`,
    ...(table ? ['int64_t value = 0;'] : []),
    `s->${member}_valid = ${context.macro}_VALID;`,
    ...(table ? [] : [`s->${member} = (${type})(${countsExpression(c)});`]),
    ...invalidateIf(conditions.join(' || ') || null, c, context),
    ...(table ? ['else {', `  s->${member} = (${type})value;`, '}'] : []),
  ];
}

function integerDecoding(c: CSignal, context: CContext): string[] {
  const narrow = c.kind === 'integer' || (c.kind === 'bits' && c.bits <= 32);
  const bitsOfNone =
    c.bits === 32 ? '(raw & 0x7FFFFFFFu) > 0x7F800000u' : `(raw & ${u64(pow(63) - 1n)}) > ${u64(0x7ffn << 52n)}`;
  const conditions = [invalidCondition(c.signal, c.bits), c.kind === 'bits' ? `(${bitsOfNone})` : null].filter(Boolean);
  return [
    `const uint64_t raw = ${readExpression(bitPositions(c.signal))};`,
    `s->${c.member} = ${narrow ? '(uint32_t)raw' : 'raw'};`,
    `s->${c.member}_valid = ${context.macro}_VALID;`,
    ...invalidateIf(conditions.join(' || ') || null, c, context),
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

export function decodeStatements(c: CSignal, context: CContext): string[] {
  switch (c.kind) {
    case 'text':
      return textDecoding(c, context);
    case 'number':
      return numberDecoding(c, context);
    case 'fixed':
      return fixedDecoding(c, context);
    default:
      return integerDecoding(c, context);
  }
}
