/** Recorded frames whose counters run on over repetitions and whose checksums are made anew: what a player in a loop needs, and as recorded does not have. */
import { compileEncoder } from '../../map/encode.ts';
import { advanceCounter, type CounterState } from '../../map/counter.ts';
import type { MapFrame } from '../../map/schema.ts';

/** Payloads of one frame in the order of sending; each is changed in place and given back. False where a checksum cannot be made. */
export function compileRecount(frame: MapFrame): (payload: Uint8Array) => boolean {
  const encoder = compileEncoder(frame);
  const states = new Map<string, CounterState>();
  return (payload) => {
    if (payload.length !== frame.length) return false;
    for (const { rule, present, raw } of encoder.compiled.counters) {
      if (!present(payload, 0, payload.length)) continue;
      const recorded = Number(raw(payload, 0));
      const first = recorded >= rule.min && recorded <= rule.max ? recorded : rule.min;
      const state = states.get(rule.name) ?? { value: first, sent: 0 };
      encoder.writeCounter(rule.name, state.value, payload);
      states.set(rule.name, advanceCounter(rule, state));
    }
    return encoder.writeChecksums(payload, 0, payload.length);
  };
}
