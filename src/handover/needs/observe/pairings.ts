/**
 * Exchanges after waking that look like a challenge and its answer, as an immobiliser or a paired module makes them: two identifiers that come
 * once each after every waking, one soon after the other, with payloads that look random from waking to waking. Common practice, no source.
 * Claimed only over three wakings or more, and only where about half of the bits of the bytes that move differ each time, as random bits do.
 */
import { lowerBound } from '../../../frames/pictures/columns.ts';
import { payloadAt, type Stream } from '../../../frames/table.ts';
import type { FrameKey } from '../types.ts';
import type { SeenPairing } from './types.ts';

const WAKINGS_LEAST = 3;
/** Frames of such an identifier after one waking, retries and longer messages included. */
const FRAMES_MOST = 6;
/** From a waking to the exchange, and from the challenge to the answer. */
const AFTER_WAKING_S = 15;
const ANSWER_MOST_S = 1;
const RANDOM_BYTES_LEAST = 3;
/** Standard deviations (of n fair coins) that the share of differing bits may lie from a half. */
const FAIR_SD = 3;

export interface PairingInput {
  readonly stream: Stream;
  readonly key: FrameKey;
}

interface Candidate extends PairingInput {
  /** [wakings] time of its first frame after each waking, microseconds; null where it did not come. */
  readonly firstUs: readonly (number | null)[];
  readonly came: number;
  readonly bits: number;
  readonly differing: number;
}

const bitsOf = (byte: number): number => {
  let count = 0;
  for (let rest = byte; rest > 0; rest >>= 1) count += rest & 1;
  return count;
};

/** Rows of the first frame after each waking, -1 where none came; null where it comes too often for an exchange. */
function firstRows({ timeUs, count }: Stream, wakings: readonly number[]): number[] | null {
  if (count > FRAMES_MOST * wakings.length) return null;
  return wakings.map((fromS, at) => {
    const untilUs = Math.min(fromS + AFTER_WAKING_S, wakings[at + 1] ?? Infinity) * 1e6;
    const row = lowerBound(timeUs, fromS * 1e6);
    return row < count && (timeUs[row] as number) <= untilUs ? row : -1;
  });
}

/** Bytes that differ between every two wakings that follow each other, and how many of their bits do. */
function randomBits(payloads: readonly Uint8Array[]): { readonly bits: number; readonly differing: number } {
  const length = Math.min(...payloads.map((payload) => payload.length));
  let [bits, differing, bytes] = [0, 0, 0];
  for (let byte = 0; byte < length; byte++) {
    const values = payloads.map((payload) => payload[byte] as number);
    const changes = values.slice(1).map((value, at) => bitsOf(value ^ (values[at] as number)));
    if (changes.includes(0)) continue;
    bytes++;
    bits += 8 * changes.length;
    differing += changes.reduce((sum, change) => sum + change, 0);
  }
  return bytes >= RANDOM_BYTES_LEAST ? { bits, differing } : { bits: 0, differing: 0 };
}

function candidateOf(input: PairingInput, wakings: readonly number[]): Candidate[] {
  const rows = firstRows(input.stream, wakings);
  if (!rows) return [];
  const there = rows.filter((row) => row >= 0);
  if (there.length < WAKINGS_LEAST) return [];
  const { bits, differing } = randomBits(there.map((row) => payloadAt(input.stream, row)));
  if (bits === 0 || Math.abs(differing - bits / 2) > (FAIR_SD * Math.sqrt(bits)) / 2) return [];
  const firstUs = rows.map((row) => (row >= 0 ? (input.stream.timeUs[row] as number) : null));
  return [{ ...input, firstUs, came: there.length, bits, differing }];
}

function pairOf(challenge: Candidate, response: Candidate, of: number): SeenPairing | null {
  const delays = challenge.firstUs.flatMap((us, at) => {
    const answer = response.firstUs[at] ?? null;
    return us === null || answer === null ? [] : [answer - us];
  });
  const isExchange =
    delays.length >= WAKINGS_LEAST &&
    delays.length === Math.max(challenge.came, response.came) &&
    delays.every((us) => us > 0 && us <= ANSWER_MOST_S * 1e6);
  if (!isExchange) return null;
  const bits = challenge.bits + response.bits;
  return {
    challenge: challenge.key,
    response: response.key,
    wakings: delays.length,
    of,
    bitsDiffering: (challenge.differing + response.differing) / bits,
    bits,
    delayMs: delays.sort((a, b) => a - b)[delays.length >> 1]! / 1000,
  };
}

/** @param wakings of one bus, seconds, ascending. @param inputs of that bus. Cost: identifiers that come seldom, in pairs. */
export function pairingsOn(inputs: readonly PairingInput[], wakings: readonly number[]): SeenPairing[] {
  if (wakings.length < WAKINGS_LEAST) return [];
  const candidates = inputs.flatMap((input) => candidateOf(input, wakings));
  return candidates.flatMap((challenge) => {
    const answers = candidates
      .flatMap((response) => (response === challenge ? [] : [pairOf(challenge, response, wakings.length)]))
      .filter((pair) => pair !== null)
      .sort((a, b) => a.delayMs - b.delayMs);
    return answers.slice(0, 1);
  });
}
