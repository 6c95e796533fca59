/**
 * Tables of 256 entries for CRCs that go byte by byte and are 8 bits wide or more; rules with the same polynomial, width and
 * bit order share one. By the Rocksoft model (Williams 1993), chapter "Table-driven implementations".
 */
import { reflect } from '../../map/crc.ts';
import type { MapChecksum, SignalMap } from '../../map/schema.ts';
import { bigOf } from '../../map/raw-values.ts';
import { u64 } from './text.ts';

export interface CrcTable {
  readonly width: number;
  readonly poly: bigint;
  readonly refin: boolean;
}

export interface CrcTables {
  /** The function that goes through this table, `uint64_t NAME(uint64_t reg, const uint8_t *m, unsigned n)`. */
  use(table: CrcTable): string;
  /** Tables and functions used so far. */
  source(): string;
}

/** The register after one byte, from zero. Reflected rules shift to the right. */
function entryOf({ width, poly, refin }: CrcTable, byte: number): bigint {
  const mask = (1n << BigInt(width)) - 1n;
  if (refin) {
    const flipped = reflect(poly & mask, width);
    let reg = BigInt(byte);
    for (let k = 0; k < 8; k++) reg = reg & 1n ? (reg >> 1n) ^ flipped : reg >> 1n;
    return reg;
  }
  const top = 1n << BigInt(width - 1);
  let reg = BigInt(byte) << BigInt(width - 8);
  for (let k = 0; k < 8; k++) reg = (reg & top ? (reg << 1n) ^ poly : reg << 1n) & mask;
  return reg;
}

const typeOf = (width: number): 8 | 16 | 32 | 64 => (width <= 8 ? 8 : width <= 16 ? 16 : width <= 32 ? 32 : 64);

function literal(value: bigint, bits: 8 | 16 | 32 | 64): string {
  const digits = value
    .toString(16)
    .toUpperCase()
    .padStart(bits / 4, '0');
  if (bits === 64) return u64(value);
  return bits === 32 ? `UINT32_C(0x${digits})` : `0x${digits}u`;
}

function tableText(name: string, table: CrcTable): string {
  const bits = typeOf(table.width);
  const entries = Array.from({ length: 256 }, (_, byte) => literal(entryOf(table, byte), bits));
  const perLine = bits === 64 ? 4 : 8;
  const lines = Array.from(
    { length: 256 / perLine },
    (_, i) => `  ${entries.slice(i * perLine, (i + 1) * perLine).join(', ')}`,
  );
  return [`static const uint${bits}_t ${name}_of[256] = {`, lines.join(',\n'), '};'].join('\n');
}

function functionText(name: string, { width, refin }: CrcTable): string {
  const mask = u64((1n << BigInt(width)) - 1n);
  const up = `((reg << 8) & ${mask}) ^ ${name}_of[((reg >> ${width - 8}) ^ m[i]) & 0xFFu]`;
  const down = `(reg >> 8) ^ ${name}_of[(reg ^ m[i]) & 0xFFu]`;
  return [
    `static uint64_t ${name}(uint64_t reg, const uint8_t *m, unsigned n)`,
    '{',
    '  unsigned i;',
    '  for (i = 0u; i < n; i++) {',
    `    reg = ${refin ? down : up};`,
    '  }',
    '  return reg;',
    '}',
  ].join('\n');
}

const tableName = (prefix: string, index: number): string => `${prefix}_crc_table_${index}`;

/** All names that tables and their functions may take: there is no more than one for each rule. */
export function crcTableNames({ frames }: SignalMap, prefix: string): string[] {
  const rules = frames.flatMap(({ checksums }) => checksums.filter(({ method }) => method === 'crc'));
  return rules.flatMap((_, index) => [tableName(prefix, index), `${tableName(prefix, index)}_of`]);
}

export function crcTables(prefix: string): CrcTables {
  const used = new Map<string, { readonly name: string; readonly table: CrcTable }>();
  return {
    use(table) {
      const key = `${table.width} ${table.poly.toString(16)} ${table.refin}`;
      const name = used.get(key)?.name ?? tableName(prefix, used.size);
      used.set(key, { name, table });
      return name;
    },
    source: () =>
      [...used.values()]
        .map(({ name, table }) => `${tableText(name, table)}\n\n${functionText(name, table)}\n`)
        .join('\n'),
  };
}

export const takesTable = (checksum: MapChecksum, width: number): boolean =>
  checksum.method === 'crc' && (checksum.unit ?? 'byte') === 'byte' && width >= 8;

/** The CRC of the message `m` of `n` bytes as an expression; where the two bit orders differ the helper turns the register. */
export function tableCall(checksum: MapChecksum, width: number, tables: CrcTables, flip: () => string): string {
  const mask = (1n << BigInt(width)) - 1n;
  const [poly, init, xorout] = [checksum.poly, checksum.init, checksum.xorout].map(
    (value) => bigOf(value ?? '0x0') & mask,
  );
  const [refin, refout] = [checksum.refin ?? false, checksum.refout ?? false];
  const start = refin ? reflect(init ?? 0n, width) : (init ?? 0n);
  const call = `${tables.use({ width, poly: poly ?? 0n, refin })}(${u64(start)}, m, n)`;
  const turned = refin === refout ? call : `${flip()}(${call}, ${width}u)`;
  return xorout ? `(${turned} ^ ${u64(xorout)})` : turned;
}
