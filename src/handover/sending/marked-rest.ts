/**
 * A map whose payloads at rest come from a span that a person marked so. A draft takes them from the calmest stretch that it finds, which is a guess: good
 * for starting an encoder, not for sending.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { FrameKey } from '../needs/types.ts';

/** The last payload of a frame within the span; times in seconds from the capture's origin. */
export interface MarkedPayload extends FrameKey {
  readonly payload: string;
  readonly fromS: number;
  readonly toS: number;
}

/** The words of the mark that the payload at rest was recorded under; null where nobody marked it. */
export function restMark({ rest }: MapFrame): string | null {
  const { marked } = (rest ?? {}) as { readonly marked?: unknown };
  return typeof marked === 'string' && marked !== '' ? marked : null;
}

/** @param capture id of the capture in the map, or its title @param mark what the person wrote */
export function withMarkedRest(
  map: SignalMap,
  payloads: readonly MarkedPayload[],
  capture: string,
  mark: string,
): SignalMap {
  const byKey = new Map(payloads.map((each) => [frameKey(each), each]));
  const frames = map.frames.map((frame) => {
    const found = byKey.get(frameKey(frame));
    if (!found) return frame;
    const { payload, fromS, toS } = found;
    return { ...frame, rest: { payload, capture, fromS, toS, marked: mark } };
  });
  return { ...map, frames };
}
