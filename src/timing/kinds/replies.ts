/**
 * Which identifiers answer others. Only pairs that an open standard fixes are claimed, and requests that the logger itself sent: two
 * frames of one module that follow each other look just like question and answer. Diagnostic identifiers by ISO 15765-4:
 * requests 7DF (to all) and 7E0..7E7, answers 8 above; with 29 bits 18DB33F1 (to all) and 18DAxxF1, answers 18DAF1xx.
 */
import type { Stream } from '../../frames/table.ts';
import { quantile, sortedSample } from '../robust.ts';

export interface Reply {
  readonly to: Stream;
  /** Median delay from the last request before it. */
  readonly delayUs: number;
}

const FOLLOWS_SHARE = 0.8;
const DELAY_MAX_US = 1e6;

/** Whether `reply` is where the standard puts answers to `request`. */
export function isDiagnosticPair(request: Stream, reply: Stream): boolean {
  if (request.extended !== reply.extended) return false;
  if (!request.extended) {
    if (reply.id < 0x7e8 || reply.id > 0x7ef) return false;
    return request.id === 0x7df || request.id === reply.id - 8;
  }
  if (reply.id >>> 8 !== 0x18daf1) return false;
  return request.id === 0x18db33f1 || request.id === (0x18da00f1 | ((reply.id & 0xff) << 8)) >>> 0;
}

/** [n] microseconds since the last request, NaN before the first. Two pointers: O(n + m). */
function delays(request: Stream, reply: Stream): Float64Array {
  const out = new Float64Array(reply.count).fill(Number.NaN);
  let asked = -1;
  for (let row = 0; row < reply.count; row++) {
    const us = reply.timeUs[row] as number;
    while (asked + 1 < request.count && (request.timeUs[asked + 1] as number) <= us) asked++;
    if (asked >= 0) out[row] = us - (request.timeUs[asked] as number);
  }
  return out;
}

function replyTo(request: Stream, reply: Stream): Reply | null {
  const delayUs = delays(request, reply);
  const near = delayUs.filter((us) => us <= DELAY_MAX_US);
  if (near.length < FOLLOWS_SHARE * reply.count) return null;
  return { to: request, delayUs: quantile(sortedSample(near), 0.5) };
}

/** The request that a stream answers, or null. The nearest of those that could be. */
export function findReply(streams: readonly Stream[], reply: Stream): Reply | null {
  if (reply.direction === 'sent') return null;
  const found = streams
    .filter((request) => request.bus === reply.bus && request !== reply && isDiagnosticPair(request, reply))
    .map((request) => replyTo(request, reply))
    .filter((candidate) => candidate !== null);
  return found.sort((a, b) => a.delayUs - b.delayUs)[0] ?? null;
}
