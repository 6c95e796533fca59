/** One message while the vehicle runs: what its payload says at each sending, and which state it has last told. */
import type { Random } from '../../../src/kit/random.ts';
import type { Item, Loss, MessagePlan, Mode } from './plan.ts';

/** A module notices that another is missing after so long. */
const NOTICES_US = 400_000;

export interface Heard {
  /** The last payload of a message as the receivers have it; null before the first. */
  last(message: number): Uint8Array | null;
}

export class MessageRun {
  private counts: number[];
  private place = 0;
  private readonly still: Uint8Array;
  /** Where in its course each value is differs from recording to recording. */
  private readonly startS: number;
  private kept: Uint8Array | null = null;
  /** Changes that its last frame told of; -1 before the first. */
  told = -1;
  lastAskedUs = -Infinity;
  /** Still to be said again after a change, and turns until then. */
  repeats = 0;
  wait = 0;

  constructor(
    readonly plan: MessagePlan,
    private readonly random: Random,
  ) {
    this.startS = random.between(0, 600);
    this.still = Uint8Array.from(plan.still);
    this.counts = plan.items.map((item) => (item.is === 'counter' ? random.below(item.modulus) : 0));
  }

  restart(): void {
    this.counts = this.counts.map(() => 0);
    this.told = -1;
    this.lastAskedUs = -Infinity;
    this.repeats = 0;
    this.wait = 0;
    this.kept = null;
  }

  /** How many of its changes have happened by now. */
  changesBy(nowUs: number): number {
    const { changesUs } = this.plan;
    if (this.place > 0 && (changesUs[this.place - 1] as number) > nowUs) this.place = 0;
    while (this.place < changesUs.length && (changesUs[this.place] as number) <= nowUs) this.place++;
    return this.place;
  }

  build(nowUs: number, mode: Mode, heard: Heard, lost: Loss | null, awakeUs: number): Uint8Array {
    const payload = this.still.slice();
    const frozen = lost === 'frozen' && awakeUs > NOTICES_US ? this.kept : null;
    const { items } = this.plan;
    for (let i = 0; i < items.length; i++) this.put(payload, items[i] as Item, i, nowUs, mode, heard, frozen);
    if (lost && awakeUs > NOTICES_US) applyLoss(payload, lost, this.plan.items);
    for (const item of this.plan.items) if (item.is === 'fold') payload[item.byte] = fold(payload, item.byte);
    if (!frozen) this.kept = payload;
    return payload;
  }

  private put(
    payload: Uint8Array,
    item: Item,
    i: number,
    nowUs: number,
    mode: Mode,
    heard: Heard,
    frozen: Uint8Array | null,
  ): void {
    if (item.is === 'counter') {
      const count = this.counts[i] as number;
      this.counts[i] = (count + 1) % item.modulus;
      const old = payload[item.byte] as number;
      if (item.modulus > 16) payload[item.byte] = count;
      else payload[item.byte] = item.high ? (old & 0x0f) | (count << 4) : (old & 0xf0) | count;
    } else if (frozen && item.is !== 'fold') {
      const bytes = 'bytes' in item ? item.bytes : 1;
      payload.set(frozen.subarray(item.byte, item.byte + bytes), item.byte);
    } else if (item.is === 'value') {
      this.putValue(payload, item, nowUs, mode);
    } else if (item.is === 'states') {
      payload[item.byte] = (this.changesBy(nowUs) * 37) & 0xff;
    } else if (item.is === 'echo') {
      const source = heard.last(item.of);
      for (let b = 0; b < item.bytes; b++) payload[item.byte + b] = source ? (source[item.from + b] ?? 0xff) : 0xff;
    }
  }

  private putValue(payload: Uint8Array, item: Item & { is: 'value' }, nowUs: number, mode: Mode): void {
    const [swing, periodS, phase] = item.wave;
    const lively = mode === 'driving' || mode === 'charging' ? 1 : 0.15;
    const share = 0.5 + 0.45 * swing * lively * Math.sin((2 * Math.PI * (nowUs / 1e6 + this.startS)) / periodS + phase);
    const most = item.bytes === 2 ? 0xffff : 0xff;
    const raw = Math.round(share * most + item.noise * lively * this.random.normal());
    const value = Math.max(0, Math.min(most - 2, raw));
    if (item.bytes === 2) {
      payload[item.byte] = value >> 8;
      payload[item.byte + 1] = value & 0xff;
    } else payload[item.byte] = value;
  }
}

function fold(payload: Uint8Array, own: number): number {
  let all = 0x5a;
  payload.forEach((byte, i) => (all ^= i === own ? 0 : byte));
  return all;
}

/** Bytes that carry values say "no data", the last default, or a bit says fault. Counters go on. */
function applyLoss(payload: Uint8Array, loss: Loss, items: readonly Item[]): void {
  for (const item of items) {
    if (item.is !== 'value' && item.is !== 'echo') continue;
    const bytes = payload.subarray(item.byte, item.byte + item.bytes);
    if (loss === 'filled FF') bytes.fill(0xff);
    if (loss === 'filled FE') bytes.fill(0xfe);
    if (loss === 'default') bytes.fill(0);
  }
  if (loss === 'fault bit') payload[payload.length - 1] = (payload[payload.length - 1] as number) | 0x80;
}
