/**
 * What sure guards of an identifier have for parameters, as one text: the module that wrote them has one piece of code for all of its frames.
 * Left out is what belongs to the frame and not to the code: bytes made from the identifier, tables, which bytes are covered.
 */
import type { FrameFindings } from '../fields/types.ts';
import type { MapChecksum, MapCounter } from '../map/schema.ts';
import type { Hints } from '../timing/senders/shared-moments.ts';

/** Guards less sure than this say nothing of who wrote them. */
const SURE = 0.9;

/** From the end of the payload, where it is nearer: code that guards frames of several lengths puts it first or last. */
function placeOf({ lsb }: MapChecksum | MapCounter, length: number): string {
  const fromEnd = length - 1 - lsb.byte;
  return fromEnd < lsb.byte ? `end-${fromEnd}.${lsb.bit}` : `${lsb.byte}.${lsb.bit}`;
}

const counterText = (counter: MapCounter, length: number): string =>
  ['counter', placeOf(counter, length), counter.length, counter.step, counter.every, counter.min, counter.max].join(
    ' ',
  );

function checksumText(checksum: MapChecksum, length: number): string {
  const { method, width, poly, init, refin, refout, xorout, unit, carry } = checksum;
  const rule = [method, width, poly, init, refin, refout, xorout, unit, carry].map((part) => String(part ?? '-'));
  const beside = ['prefix', 'suffix', 'prefixByCounter', 'suffixByCounter'].map((name) => {
    const bytes = checksum[name as 'prefix' | 'prefixByCounter'];
    return bytes?.length ? `${name} ${bytes.length}` : '';
  });
  return [placeOf(checksum, length), ...rule, ...beside].filter(Boolean).join(' ');
}

/** Rules that can be told apart by their parameters: what depends on a secret, copies a field or is not solved says nothing. */
const isRule = ({ method, confidence }: MapChecksum): boolean =>
  confidence >= SURE && (method === 'crc' || method === 'sum' || method === 'xor');

/** By identifier; those without a sure checksum are left out: a counter alone is everyone's. */
export function guardHints(findings: readonly FrameFindings[]): Hints {
  const hints = new Map<string, string>();
  for (const { bus, id, extended, direction, length, checksums, counters } of findings) {
    const rules = checksums.filter(isRule).map((checksum) => checksumText(checksum, length));
    if (direction !== 'received' || rules.length === 0) continue;
    const sure = counters.filter(({ confidence }) => confidence >= SURE).map((counter) => counterText(counter, length));
    hints.set(`${bus}/${id}/${extended}`, [...rules, ...sure].sort().join('; '));
  }
  return hints;
}
