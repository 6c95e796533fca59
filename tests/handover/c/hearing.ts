/** Sends frames to the generated receiver and tells what came of each. */
import { generateC } from '../../../src/handover/c/source.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { printed } from './held.ts';

const VERDICTS = ['none', 'first', 'expected', 'repeated', 'skipped', 'wrong'];
const STATES = ['absent', 'valid', 'invalid', 'timed out', 'never'];

export interface Arrival {
  readonly bytes: readonly number[];
  readonly atUs: number;
}

export interface Told {
  readonly status: number;
  readonly verdict: string;
  readonly skipped: number;
  /** Of the signal `value`, in byte 0. */
  readonly value: number;
  readonly state: string;
}

export const value = aSignal({ name: 'value', lsb: { byte: 0, bit: 0 }, length: 8 });

/** Sends payloads to a frame "f" with the signal `value` and a counter `alive`, and tells what came of each. */
export function heard(frame: MapFrame, arrivals: readonly Arrival[], before = ''): Told[] {
  const code = generateC(aMap([{ ...frame, name: 'f' }]), { cautions: [] });
  const calls = arrivals.map(({ bytes, atUs }) => {
    const list = bytes.map((byte) => `${byte}u`).join(', ');
    return `{ const uint8_t p[] = {${list}}; status = (int)sm_receive(&r, SM_BUS_CAN0, SM_F_ID, 0, p, sizeof p, UINT32_C(${atUs >>> 0})); tell(&r, status); }`;
  });
  const body = `sm_receiver r; int status; sm_receiver_init(&r); ${before}\n${calls.join('\n')}`;
  const tell = frame.counters.length > 0 ? 'r->f.alive.verdict, (unsigned)r->f.alive.skipped' : '0u, 0u';
  const text = printed(
    code,
    body,
    `static void tell(const sm_receiver *r, int status) { printf("%d %u %u %d %u\\n", status, ${tell}, (int)r->f.values.value, (unsigned)r->f.values.value_valid); }`,
  );
  return text.split('\n').map((line) => {
    const [status = 0, verdict = 0, skipped = 0, shown = 0, state = 0] = line.split(' ').map(Number);
    return { status, verdict: VERDICTS[verdict] ?? '', skipped, value: shown, state: STATES[state] ?? '' };
  });
}

export const PERIOD_US = 10_000;
export const periodic = aFrame({
  length: 2,
  signals: [value],
  timing: { kind: 'periodic', periodMs: 10, jitterMs: 0 },
});

/** Counter values in byte 1, one a period; byte 0 counts the frames. */
export const counting = (values: readonly number[]): Arrival[] =>
  values.map((raw, i) => ({ bytes: [i, raw], atUs: i * PERIOD_US }));
