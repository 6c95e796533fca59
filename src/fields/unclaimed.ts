/**
 * Bits that no finding holds: still ones (always zero, all ones, another constant) and moving ones that no value
 * explains better than noise does.
 */
import type { BitAddress } from '../frames/bits.ts';
import type { MapUnclaimed } from '../map/schema.ts';
import { BITS_SET } from './bits-set.ts';
import { bitsIn, leftBy } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';
import { movedMask } from './payload-rows.ts';
import type { Span } from './segment.ts';
import type { Explained } from './types.ts';

type Reason = MapUnclaimed['reason'];

interface Run {
  readonly lsb: BitAddress;
  length: number;
  readonly moves: boolean;
}

/** Runs of unclaimed bits within one byte, alike in whether they move. */
function runsOf(byte: number, unclaimed: number, moved: number): Run[] {
  const runs: Run[] = [];
  for (let bit = 0; bit < 8; bit++) {
    if (((unclaimed >> bit) & 1) === 0) continue;
    const moves = ((moved >> bit) & 1) === 1;
    const last = runs.at(-1);
    if (last && last.moves === moves && last.lsb.bit + last.length === bit) last.length++;
    else runs.push({ lsb: { byte, bit }, length: 1, moves });
  }
  return runs;
}

function stillReason(value: number, length: number): { reason: Reason; why: string } {
  if (value === 0) return { reason: 'idle', why: 'Zero in every frame.' };
  if (length >= 4 && value === 2 ** length - 1) return { reason: 'filling', why: 'All ones in every frame: no data.' };
  return { reason: 'constant', why: 'The same in every frame.' };
}

/** usable: [bytes] bits that counters, checksums and hand-placed fields left over. */
export function unclaimedOf(rows: PayloadRows, usable: Uint8Array, spans: readonly Span[]): Explained<MapUnclaimed>[] {
  if (rows.count === 0) return [];
  const left = leftBy(usable, spans);
  const moved = movedMask(rows);
  const noisy = left.reduce((bits, mask, byte) => bits + BITS_SET[mask & (moved[byte] as number)]!, 0);
  const movingBits = bitsIn(moved);
  const noiseReason: Reason = noisy >= 32 && noisy >= 0.6 * movingBits ? 'cipher' : 'noise';
  const found: Explained<MapUnclaimed>[] = [];
  for (let byte = 0; byte < rows.bytes; byte++) {
    for (const run of runsOf(byte, left[byte] as number, moved[byte] as number))
      found.push(describeRun(run, rows, noiseReason));
  }
  return found;
}

function describeRun(run: Run, rows: PayloadRows, noiseReason: Reason): Explained<MapUnclaimed> {
  const place = { lsb: { ...run.lsb }, length: run.length, order: 'little' as const };
  if (run.moves) {
    const why =
      noiseReason === 'cipher'
        ? 'Nearly the whole payload changes like random bits: enciphered, or nothing that can be read.'
        : 'Changes like random bits; no reading of it is cheaper to write down than noise.';
    return { ...place, reason: noiseReason, why };
  }
  const value = ((rows.data[run.lsb.byte] as number) >> run.lsb.bit) & ((1 << run.length) - 1);
  return { ...place, value, ...stillReason(value, run.length) };
}
