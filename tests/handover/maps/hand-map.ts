/** A map made by hand becomes a case: thousands of drawn payloads whose counters run and whose checksums hold. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { nextCounterValue } from '../../../src/map/counter.ts';
import { compileEncoder, type CompiledEncoder } from '../../../src/map/encode.ts';
import { parsePayload } from '../../../src/map/raw-values.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { randomPayload } from '../../support/random-frames.ts';
import { freeMap, type CapturedFrame, type MapCase, type Vector } from './map-case.ts';

export interface HandMap {
  readonly name: string;
  readonly map: SignalMap;
  readonly vectors: readonly Vector[];
}

/** A sender with its counters: those of the page that is on step at every `every`-th of its frames. */
class Sender {
  private readonly counters = new Map<string, { value: number; sent: number }>();
  constructor(
    private readonly encoder: CompiledEncoder,
    private readonly random: Random,
  ) {}

  next(): Uint8Array {
    const { frame, counters } = this.encoder.compiled;
    const payload = randomPayload(this.random, frame.length);
    for (const { rule, present } of counters) {
      if (!present(payload, 0, payload.length)) continue;
      const { name, min, every } = rule;
      const state = this.counters.get(name) ?? { value: min, sent: 0 };
      this.encoder.writeCounter(name, state.value, payload);
      const full = state.sent + 1 >= every;
      this.counters.set(name, {
        value: full ? nextCounterValue(rule, state.value) : state.value,
        sent: full ? 0 : state.sent + 1,
      });
    }
    this.encoder.writeChecksums(payload, 0, payload.length);
    return payload;
  }
}

export function caseOfHand({ name, map, vectors }: HandMap, frames = 3000): MapCase {
  const random = createRandom(name);
  const senders = map.frames.map((frame) => new Sender(compileEncoder(frame), random));
  const capture = Array.from({ length: frames }, (_, i): CapturedFrame => {
    const index = i % senders.length;
    return { index, payload: (senders[index] as Sender).next() };
  });
  const first = (index: number): Uint8Array | undefined => capture.find((each) => each.index === index)?.payload;
  const freed = freeMap({ ...map, frames: map.frames.map((frame) => ({ ...frame, rest: null })) }, first);
  return { name, map: freed, capture, vectors };
}

export const vectorPayload = ({ payload }: Vector): Uint8Array => {
  const bytes = parsePayload(payload);
  if (bytes === null) throw new Error(`not a payload: ${payload}`);
  return bytes;
};
