/** The rules of counters, checksums and selectors in words with all their parameters: enough to write them anew. */
import { placementLength } from '../../frames/bits.ts';
import { grouped } from '../../kit/figures.ts';
import type { MapChecksum, MapCounter, MapSelector } from '../../map/schema.ts';
import { mono, type Words } from './document.ts';
import { numberRuns } from './pictures/page-layouts.ts';

export function counterWords({ min, max, step, every }: MapCounter): string {
  const pace = every === 1 ? 'at every frame' : `once in ${every} frames`;
  const by = step > 0 ? `up by ${step}` : `down by ${-step}`;
  return `counts ${min} to ${max}, ${by} ${pace}`;
}

const METHODS: Readonly<Record<MapChecksum['method'], string>> = {
  xor: 'exclusive or',
  sum: 'sum',
  crc: 'cyclic redundancy check',
  copy: 'copy of another field',
  mac: 'tag that depends on a secret: it cannot be produced',
  unsolved: 'rule not known',
};

const UNITS = {
  byte: 'bytes',
  nibble: 'nibbles',
  word16le: '16-bit words, low byte first',
  word16be: '16-bit words, high byte first',
};

/** "0 to 6", "1, 2 (mask 0x0F)". */
function coversWords(covers: MapChecksum['covers']): string {
  if (!covers) return 'not told';
  const runs: string[] = [];
  let from: number | null = null;
  covers.forEach((covered, index) => {
    if (typeof covered !== 'number') {
      runs.push(
        `${covered.byte} (mask ${typeof covered.mask === 'number' ? `0x${covered.mask.toString(16).toUpperCase()}` : covered.mask})`,
      );
      return;
    }
    from ??= covered;
    const next = covers[index + 1];
    if (typeof next === 'number' && next === covered + 1) return;
    runs.push(from === covered ? `${covered}` : `${from} to ${covered}`);
    from = null;
  });
  return runs.length > 0 ? runs.join(', ') : 'none';
}

const tableWords = (lists: readonly (readonly string[])[]): string => lists.map((list) => list.join(' ')).join(' | ');

export function checksumWords(checksum: MapChecksum): Words {
  const { method, width, poly, init, xorout, refin, refout, unit, carry, covers } = checksum;
  if (method === 'mac' || method === 'unsolved') return METHODS[method];
  const bytes = [
    checksum.prefix && checksum.prefix.length > 0 && `before them ${checksum.prefix.join(' ')}`,
    checksum.prefixByCounter && `before them by the counter ${tableWords(checksum.prefixByCounter)}`,
    checksum.suffix && checksum.suffix.length > 0 && `behind them ${checksum.suffix.join(' ')}`,
    checksum.suffixByCounter && `behind them by the counter ${tableWords(checksum.suffixByCounter)}`,
  ].filter(Boolean);
  const parameters = [
    width !== undefined && `width ${width}`,
    poly && `poly ${poly}`,
    init && `init ${init}`,
    refin !== undefined && `refin ${refin ? 'yes' : 'no'}`,
    refout !== undefined && `refout ${refout ? 'yes' : 'no'}`,
    xorout && `xorout ${xorout}`,
    unit && unit !== 'byte' && `over ${UNITS[unit]}`,
    carry === 'end-around' && 'carry end-around',
  ].filter(Boolean);
  return [
    `${METHODS[method]}: `,
    mono(parameters.join(', ')),
    `; over bytes ${coversWords(covers)}${bytes.length > 0 ? `, ${bytes.join(', ')}` : ''}`,
  ];
}

/** "b0.5–7, b3, b6.4": bits of a byte as runs, whole bytes as such. */
export function undeterminedWords({ undetermined }: MapChecksum): string {
  const bytes = [...new Set(undetermined.map(({ byte }) => byte))].sort((a, b) => a - b);
  return bytes
    .flatMap((byte) => {
      const bits = undetermined.filter((one) => one.byte === byte).map(({ bit }) => bit);
      const runs = numberRuns(bits);
      if (runs.length === 1 && runs[0]?.[0] === 0 && runs[0][1] === 7) return [`b${byte}`];
      return runs.map(([from, to]) => (from === to ? `b${byte}.${from}` : `b${byte}.${from}–${to}`));
    })
    .join(', ');
}

export const selectorWords = (selector: MapSelector): string =>
  `says which page the frame has; ${grouped(2 ** Math.min(53, placementLength(selector)))} values are possible`;
