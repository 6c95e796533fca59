/** What the counters and checksums of a frame must satisfy beyond the schema. */
import { placementLength } from '../frames/bits.ts';
import type { Collector } from './check.ts';
import { coveredBytes } from './checksum-message.ts';
import { checksumOrder } from './checksum-order.ts';
import { checksumWidth } from './checksum.ts';
import { counterModulus } from './counter.ts';
import type { MapChecksum, MapFrame } from './schema.ts';

export function checkCounters(found: Collector, path: string, frame: MapFrame): void {
  frame.counters.forEach((counter, index) => {
    const at = `${path}.counters[${index}]`;
    const most = 2 ** placementLength(counter) - 1;
    if (counter.min < 0 || counter.max > most || counter.min > counter.max) {
      const advice = `Use 0 <= min <= max <= ${most}.`;
      found.error(at, 'counter-range', `min ${counter.min} and max ${counter.max} do not fit its bits.`, advice);
    } else if (counter.step % counterModulus(counter) === 0) {
      found.error(`${at}.step`, 'counter-stands', 'this step never changes the value.', 'Correct step, min or max.');
    }
  });
}

const byteLists = (checksum: MapChecksum): readonly string[] => [
  ...(checksum.prefix ?? []),
  ...(checksum.suffix ?? []),
  ...(checksum.prefixByCounter ?? []).flat(),
  ...(checksum.suffixByCounter ?? []).flat(),
];

function checkParameters(found: Collector, at: string, checksum: MapChecksum): void {
  if (!checksum.covers?.length) {
    found.error(`${at}.covers`, 'nothing-covered', 'the rule covers nothing.', 'List the covered bytes in order.');
  }
  if (checksum.method === 'crc' && !checksum.poly) {
    found.error(`${at}.poly`, 'no-polynomial', 'a CRC needs its polynomial.', 'Write `poly` without its top bit.');
  }
  const limit = 1n << BigInt(checksumWidth(checksum));
  for (const key of ['poly', 'init', 'xorout'] as const) {
    if (checksum[key] !== undefined && BigInt(checksum[key]) >= limit) {
      const message = `${checksum[key]} is wider than ${checksumWidth(checksum)} bits.`;
      found.error(`${at}.${key}`, 'parameter-too-wide', message, 'Correct it, or `width`.');
    }
  }
  if (byteLists(checksum).some((byte) => BigInt(byte) > 255n)) {
    found.error(at, 'constant-not-a-byte', 'a constant before or after is above 0xFF.', 'Write single bytes.');
  }
}

/** Rules that cannot be computed say so by their method and need no parameters. */
export function checkChecksums(found: Collector, path: string, frame: MapFrame): void {
  const computable = frame.checksums.map((checksum) => checksum.method !== 'mac' && checksum.method !== 'unsolved');
  frame.checksums.forEach((checksum, index) => {
    if (!computable[index]) return;
    const at = `${path}.checksums[${index}]`;
    checkParameters(found, at, checksum);
    if (coveredBytes(checksum).some(({ byte }) => byte >= frame.length)) {
      const advice = `Bytes are 0 to ${frame.length - 1}.`;
      found.error(`${at}.covers`, 'covers-outside-frame', 'a covered byte is outside the frame.', advice);
    }
    const tables = [...(checksum.prefixByCounter ?? []), ...(checksum.suffixByCounter ?? [])];
    if (tables.length > 0 && frame.counters.length === 0) {
      found.error(at, 'no-counter', 'tables by counter need a counter in the frame.', 'Add the counter.');
    }
  });
  if (checksumOrder(frame.checksums) === null) {
    found.error(`${path}.checksums`, 'checksum-circle', 'checksums cover each other.', 'Correct `covers`.');
  }
}
