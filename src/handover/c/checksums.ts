/** A checksum rule in C: one static function a rule, which says whether the rule applies and gives the value. */
import { bitPositions, placementLength } from '../../frames/bits.ts';
import { planMessage, UNIT_BITS, type MessagePlan } from '../../map/checksum-message.ts';
import { checksumWidth, compileChecksum } from '../../map/checksum.ts';
import { bigOf } from '../../map/raw-values.ts';
import type { MapChecksum, MapFrame } from '../../map/schema.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import { tableCall, takesTable } from './crc-tables.ts';
import { hexByte, u64 } from './text.ts';

/** Negative for 16-bit words with the high byte first. */
const unitArgument = (checksum: MapChecksum): number =>
  checksum.unit === 'word16be' ? -16 : UNIT_BITS[checksum.unit ?? 'byte'];

interface TableText {
  readonly declaration: string[];
  readonly append: string[];
}

function tableText(name: string, lists: readonly (readonly number[])[] | null): TableText {
  if (!lists || lists.every((list) => list.length === 0)) return { declaration: [], append: [] };
  const most = Math.max(...lists.map((list) => list.length));
  const rows = lists.map((list) => `{${Array.from({ length: most }, (_, i) => hexByte(list[i] ?? 0)).join(', ')}}`);
  const lengths = lists.map((list) => `${list.length}u`).join(', ');
  return {
    declaration: [
      `static const uint8_t ${name}[${lists.length}][${most}] = {${rows.join(', ')}};`,
      `static const uint8_t ${name}_length[${lists.length}] = {${lengths}};`,
    ],
    append: [`for (i = 0u; i < (unsigned)${name}_length[pick]; i++) {`, `  m[n++] = ${name}[pick][i];`, '}'],
  };
}

const longest = (lists: readonly (readonly number[])[] | null): number =>
  Math.max(0, ...(lists ?? []).map((list) => list.length));

function messageStatements(plan: MessagePlan, frame: MapFrame): string[] {
  const [before, after] = [tableText('before', plan.prefixByCounter), tableText('after', plan.suffixByCounter)];
  const picks = Number.isFinite(plan.picks);
  const loops = before.append.length + after.append.length > 0;
  const capacity =
    plan.prefix.length +
    plan.suffix.length +
    plan.covered.length +
    longest(plan.prefixByCounter) +
    longest(plan.suffixByCounter);
  const put = (value: string): string => `m[n++] = ${value};`;
  const counter = frame.counters[0];
  return [
    ...before.declaration,
    ...after.declaration,
    `uint8_t m[${Math.max(1, capacity)}];`,
    'unsigned n = 0u;',
    ...(loops ? ['unsigned i;'] : []),
    ...(picks && counter ? [`const uint64_t pick = ${readExpression(bitPositions(counter))};`] : []),
    ...(picks && counter && BigInt(plan.picks) < 1n << BigInt(placementLength(counter))
      ? [`if (pick >= ${u64(BigInt(plan.picks))}) {`, '  return 0;', '}']
      : []),
    ...plan.prefix.map((byte) => put(hexByte(byte))),
    ...before.append,
    ...plan.covered.map(({ byte, mask }) =>
      put(mask === 0xff ? `p[${byte}]` : `(uint8_t)((unsigned)p[${byte}] & ${hexByte(mask)})`),
    ),
    ...plan.suffix.map((byte) => put(hexByte(byte))),
    ...after.append,
  ];
}

function call(checksum: MapChecksum, context: CContext): string {
  const bits = checksumWidth(checksum);
  if (context.tables && takesTable(checksum, bits))
    return tableCall(checksum, bits, context.tables, () => context.use('flip'));
  const width = `${bits}u`;
  const [poly, init, xorout] = [checksum.poly, checksum.init, checksum.xorout].map((value) =>
    u64(bigOf(value ?? '0x0')),
  );
  const unit = unitArgument(checksum);
  switch (checksum.method) {
    case 'crc': {
      const [refin, refout] = [checksum.refin ? 1 : 0, checksum.refout ? 1 : 0];
      return `${context.use('crc')}(m, n, ${unit}, ${width}, ${poly}, ${init}, ${refin}, ${refout}, ${xorout})`;
    }
    case 'sum':
      return `${context.use('sum')}(m, n, ${unit}, ${width}, ${init}, ${checksum.carry === 'end-around' ? 1 : 0}, ${xorout})`;
    default:
      return `${context.use('xor')}(m, n, ${unit}, ${width}, ${init}, ${xorout})`;
  }
}

/** Covered bits, first entry most significant, each entry's bits packed to the right. */
function copiedPositions(plan: MessagePlan): number[] {
  const entries = plan.covered.map(({ byte, mask }) =>
    [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (mask >> bit) & 1).map((bit) => byte * 8 + bit),
  );
  return entries.toReversed().flat();
}

/** Null where the rule cannot be computed. The function is `static int NAME(const uint8_t *p, uint64_t *value)`. */
export function checksumFunction(
  name: string,
  checksum: MapChecksum,
  frame: MapFrame,
  context: CContext,
): string | null {
  const plan = planMessage(checksum, frame);
  if (!plan || compileChecksum(checksum, frame) === null) return null;
  const kept = u64((1n << BigInt(Math.min(64, placementLength(checksum)))) - 1n);
  const body =
    checksum.method === 'copy'
      ? copyStatements(checksum, plan, kept)
      : [...messageStatements(plan, frame), `*value = ${call(checksum, context)} & ${kept};`];
  return [
    `static int ${name}(const uint8_t *p, uint64_t *value)`,
    '{',
    ...body.map((line) => `  ${line}`),
    '  return 1;',
    '}',
    '',
  ].join('\n');
}

function copyStatements(checksum: MapChecksum, plan: MessagePlan, kept: string): string[] {
  const width = checksumWidth(checksum);
  const mask = u64((1n << BigInt(width)) - 1n);
  const positions = copiedPositions(plan).slice(0, 64);
  const source = positions.length > 0 ? readExpression(positions) : '(uint64_t)0u';
  const unused = positions.length > 0 ? [] : ['(void)p;'];
  return [...unused, `*value = (((${source}) ^ ${u64(bigOf(checksum.xorout ?? '0x0'))}) & ${mask}) & ${kept};`];
}
