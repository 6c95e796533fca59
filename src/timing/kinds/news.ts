/**
 * Which frames bring something new, where every frame differs from the one before because a counter runs and a checksum follows it.
 * Bits that keep changing on their own are left out of the comparison: those that toggle in about every other frame (checksums, noise,
 * the low bits of restless values) or in nearly every one (counters), and the counter bits above them, each of which toggles
 * half as often as the one below.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';

/** Below this share of changed frames the comparison as it is tells enough. */
const RESTLESS_SHARE = 0.5;
/** Pairs of frames that toggle rates are counted over: a rate of a half is then right to a hundredth or two. */
const PAIRS_COUNTED = 2_000;
const PAIRS_LEAST = 16;
/** A checksum's bit, noise or a counter's that counts every second frame toggles so often; a counter's lowest bit always, but for
 * one frame in 15 where it runs from 0 to 14. */
const RESTLESS = [0.4, 0.6] as const;
const COUNTS_ALWAYS = 0.9;
/** A counter's next bit toggles half as often, give or take lost frames. */
const HALVES = [0.4, 0.6] as const;
const ROWS_A_STEP = 50_000;

/** [8 * stride] share of the counted pairs in which each bit toggles. */
function toggleRates({ payload, stride, count }: Stream): Float64Array {
  const rates = new Float64Array(8 * stride);
  const pairs = Math.min(PAIRS_COUNTED, count - 1);
  for (let pair = 0; pair < pairs; pair++) {
    const row = 1 + Math.floor((pair * (count - 1)) / pairs);
    for (let byte = 0; byte < stride; byte++) {
      const toggled = (payload[row * stride + byte] as number) ^ (payload[(row - 1) * stride + byte] as number);
      for (let bit = 0; toggled >> bit; bit++) {
        if ((toggled >> bit) & 1) rates[8 * byte + bit] = (rates[8 * byte + bit] as number) + 1;
      }
    }
  }
  return rates.map((toggles) => toggles / pairs);
}

/** [stride] bits worth comparing. */
function quietBits(stream: Stream): Uint8Array {
  const rates = toggleRates(stream);
  const mask = new Uint8Array(stream.stride);
  for (let byte = 0; byte < stream.stride; byte++) {
    let counting = false;
    for (let bit = 0; bit < 8; bit++) {
      const rate = rates[8 * byte + bit] as number;
      const share = rate / (rates[8 * byte + bit - 1] as number);
      const follows: boolean = counting && bit > 0 && share > HALVES[0] && share < HALVES[1];
      const isRestless = (rate > RESTLESS[0] && rate < RESTLESS[1]) || rate >= COUNTS_ALWAYS;
      counting = isRestless || follows;
      if (!counting) mask[byte] = (mask[byte] as number) | (1 << bit);
    }
  }
  return mask;
}

function differs({ payload, stride }: Stream, row: number, mask: Uint8Array): boolean {
  const at = row * stride;
  for (let byte = 0; byte < stride; byte++) {
    const bits = (payload[at + byte] as number) ^ (payload[at + byte - stride] as number);
    if (bits & (mask[byte] as number)) return true;
  }
  return false;
}

/**
 * @param changed [n] 1 where the payload differs from the frame before
 * @returns [n] 1 where quiet bits differ; `changed` itself where few frames change, and where no bit is quiet. O(n * stride).
 */
export function* newsOf(stream: Stream, changed: Uint8Array): Steps<Uint8Array> {
  if (stream.count <= PAIRS_LEAST) return changed;
  let changes = 0;
  for (let row = 1; row < changed.length; row++) changes += changed[row] as number;
  if (changes < RESTLESS_SHARE * (changed.length - 1)) return changed;
  const mask = quietBits(stream);
  const news = new Uint8Array(changed.length);
  news[0] = 1;
  let any = false;
  for (let row = 1; row < news.length; row++) {
    if (row % ROWS_A_STEP === 0) yield;
    if (changed[row] === 0 || !differs(stream, row, mask)) continue;
    news[row] = 1;
    any = true;
  }
  return any ? news : changed;
}
