/**
 * Identifiers that a gateway copies from one bus to another: each payload comes again on the other bus, always the same short
 * while later. Such frames keep the clock of their first sender and say nothing about the gateway's own.
 */
import { lowerBound, upperBound } from '../../frames/pictures/columns.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import { lengthAt, type Stream } from '../../frames/table.ts';
import { quantile } from '../robust.ts';

export interface CopyFinding {
  readonly original: Stream;
  /** Median delay, microseconds. */
  readonly delayUs: number;
  /** Share of the frames looked at whose payload was the original's. */
  readonly share: number;
  readonly looked: number;
}

const LOOKED_AT = 200;
const FRAMES_LEAST = 30;
const DELAY_MAX_US = 30_000;
const SHARE_LEAST = 0.97;
/** Middle half of the delays must lie within this share of the interval between frames: else they only happen to be near. */
const SPREAD_MAX = 0.1;
/** Distinct payloads among those looked at, for streams whose identifiers differ: constants are alike by chance. */
const DISTINCT_LEAST = 8;
const COUNT_TOLERANCE = 0.02;

export function samePayload(a: Stream, rowA: number, b: Stream, rowB: number): boolean {
  const length = lengthAt(a, rowA);
  if (length !== lengthAt(b, rowB)) return false;
  for (let byte = 0; byte < length; byte++) {
    if (a.payload[rowA * a.stride + byte] !== b.payload[rowB * b.stride + byte]) return false;
  }
  return true;
}

const textAt = (stream: Stream, row: number): string =>
  stream.payload.subarray(row * stream.stride, row * stream.stride + lengthAt(stream, row)).join(' ');

/** Holds `copy` against what `original` sent just before each of its frames. Cost: LOOKED_AT frames. */
function holdAgainst(original: Stream, copy: Stream): CopyFinding | null {
  const delays: number[] = [];
  const distinct = new Set<string>();
  let looked = 0;
  for (let i = 0; i < Math.min(LOOKED_AT, copy.count); i++) {
    const row = Math.floor((i * copy.count) / Math.min(LOOKED_AT, copy.count));
    const time = copy.timeUs[row] as number;
    if (time < (original.timeUs[0] as number) + DELAY_MAX_US) continue;
    const before = upperBound(original.timeUs, time) - 1;
    looked++;
    if (before < 0 || time - (original.timeUs[before] as number) > DELAY_MAX_US) continue;
    if (!samePayload(original, before, copy, row)) continue;
    delays.push(time - (original.timeUs[before] as number));
    distinct.add(textAt(copy, row));
  }
  const isKnown =
    original.id === copy.id && original.extended === copy.extended
      ? distinct.size >= 1
      : distinct.size >= DISTINCT_LEAST;
  if (looked < FRAMES_LEAST || delays.length < SHARE_LEAST * looked || !isKnown) return null;
  const sorted = Float64Array.from(delays).sort();
  const intervalUs = ((copy.timeUs[copy.count - 1] as number) - (copy.timeUs[0] as number)) / (copy.count - 1);
  if (quantile(sorted, 0.75) - quantile(sorted, 0.25) > SPREAD_MAX * intervalUs) return null;
  return { original, delayUs: quantile(sorted, 0.5), share: delays.length / looked, looked };
}

function couldBeCopy(original: Stream, copy: Stream): boolean {
  if (original.bus === copy.bus || original.length !== copy.length) return false;
  const from = Math.max(original.timeUs[0] as number, copy.timeUs[0] as number);
  const to = Math.min(original.timeUs[original.count - 1] as number, copy.timeUs[copy.count - 1] as number);
  const heard = ({ timeUs }: Stream): number => lowerBound(timeUs, to) - lowerBound(timeUs, from);
  const [a, b] = [heard(original), heard(copy)];
  return Math.min(a, b) >= FRAMES_LEAST && Math.abs(a / b - 1) < COUNT_TOLERANCE;
}

/** For each received stream that is a copy, of what. Cost: pairs of streams of equal number and length, a sample of frames each. */
export function* findCopies(streams: readonly Stream[]): Steps<Map<Stream, CopyFinding>> {
  const received = streams.filter(({ direction, count }) => direction === 'received' && count >= FRAMES_LEAST);
  const found = new Map<Stream, CopyFinding>();
  for (const copy of received) {
    for (const original of received) {
      if (!couldBeCopy(original, copy)) continue;
      const finding = holdAgainst(original, copy);
      const known = found.get(copy);
      if (finding && (!known || finding.delayUs < known.delayUs)) found.set(copy, finding);
      yield;
    }
  }
  for (const [copy, { original, delayUs }] of [...found]) {
    const back = found.get(original);
    if (back?.original === copy && back.delayUs < delayUs) found.delete(copy);
  }
  return found;
}
