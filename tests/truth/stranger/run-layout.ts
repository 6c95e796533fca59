/** Sends one identifier of a stranger's vehicle over one drive: pages turn, values are read, counters count, guards close; some frames are lost. */
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { chance, whole } from './draw.ts';
import { scramble, tagOf } from './guard-work.ts';
import type { CounterPlan, Item, Layout } from './layout.ts';
import { readerOf } from './sources.ts';
import type { World } from './world.ts';

export interface Sent {
  readonly timeS: number;
  readonly payload: Uint8Array;
}

type Writer = (payload: Uint8Array, value: number) => void;

export function writerOf(place: Placement): Writer {
  const bits = bitPositions(place).map((bit) => ({ byte: bit >> 3, mask: 1 << (bit & 7) }));
  return (payload, value) => {
    let rest = value;
    for (const { byte, mask } of bits) {
      const one = rest % 2;
      rest = (rest - one) / 2;
      payload[byte] = one ? (payload[byte] as number) | mask : (payload[byte] as number) & ~mask;
    }
  };
}

type Turning = (payload: Uint8Array) => { readonly page: number; readonly inner: number };

function turningOf({ selector }: Layout, random: Random): Turning {
  if (!selector) return () => ({ page: -1, inner: -1 });
  const { turn, slow, inner } = selector;
  const [write, writeInner] = [writerOf(selector.place), inner && writerOf(inner.place)];
  let turns = whole(random, 0, 50);
  let innerTurns = 0;
  return (payload) => {
    const page = turn[Math.floor(turns++ / slow) % turn.length] as number;
    write(payload, page);
    if (!inner || !writeInner || page !== inner.page) return { page, inner: -1 };
    const second = inner.turn[innerTurns++ % inner.turn.length] as number;
    writeInner(payload, second);
    return { page, inner: second };
  };
}

function contentOf({ content, place }: Item, world: World, random: Random): (timeS: number) => number {
  if (content.from === 'world') return readerOf(content.source, world, random);
  if (content.from === 'text') return () => content.character;
  return () => random.below(2 ** place.length);
}

export class Counting {
  value: number;
  private age = 0;
  private readonly write: Writer;

  constructor(
    private readonly plan: CounterPlan,
    random: Random,
  ) {
    this.value = whole(random, plan.min, plan.max);
    this.write = writerOf(plan.place);
  }

  send(payload: Uint8Array, isFirst: boolean, changed: boolean): void {
    const { min, max, step, every, onChange } = this.plan;
    if (!isFirst && (onChange ? changed : ++this.age >= every)) {
      this.age = 0;
      const count = max - min + 1;
      this.value = min + ((((this.value - min + step) % count) + count) % count);
    }
    this.write(payload, this.value);
  }
}

function encrypt({ cipher, length }: Layout, payload: Uint8Array, key: number, sent: number): void {
  if (!cipher) return;
  let hash = scramble(key, [sent & 255, (sent >> 8) & 255, sent >> 16]);
  for (let byte = cipher.lsb.byte; byte < length; byte++) {
    hash = scramble(hash, [byte]);
    payload[byte] = hash & 255;
  }
}

/** Fills one payload after the other. */
function payloadsOf(layout: Layout, world: World, random: Random): (timeS: number, sent: number) => Uint8Array {
  const turning = turningOf(layout, random);
  const items = layout.items.map((item) => ({
    item,
    read: contentOf(item, world, random),
    write: writerOf(item.place),
  }));
  const counters = layout.counters.map((plan) => new Counting(plan, random));
  const guards = layout.guards.map((guard) => ({ guard, write: writerOf(guard.place) }));
  const watches = layout.counters.some(({ onChange }) => onChange);
  const skipped = random.below(1e6);
  let before = '';
  return (timeS, sent) => {
    const payload = layout.fill.slice();
    const { page, inner } = turning(payload);
    for (const { item, read, write } of items)
      if ((item.pages?.includes(page) ?? true) && (item.inner ?? inner) === inner) write(payload, read(timeS));
    encrypt(layout, payload, skipped, sent);
    const content = watches ? payload.join() : '';
    for (const counter of counters) counter.send(payload, sent === 0, content !== before);
    before = content;
    for (const { guard, write } of guards) {
      write(payload, 0);
      write(payload, tagOf(guard, payload, counters[0]?.value ?? 0, sent + skipped));
    }
    return payload;
  };
}

/** Frames that the logger lost: single ones and, after one of five, some more. */
function losses(random: Random, loss: number): () => boolean {
  let burst = 0;
  return () => {
    if (burst > 0) {
      burst--;
      return true;
    }
    if (!chance(random, loss)) return false;
    burst = chance(random, 0.2) ? whole(random, 1, 10) : 0;
    return true;
  };
}

/** What is received in order of time. loss: probability that a run of lost frames begins at a frame. */
export function runLayout(layout: Layout, seed: string, world: World, seconds: number, loss: number): Sent[] {
  const random = createRandom(`frame ${seed} ${layout.bus} ${layout.id}`);
  const nextPayload = payloadsOf(layout, world, random);
  const isLost = losses(random, loss);
  const periodS = layout.periodMs / 1000;
  const received: Sent[] = [];
  for (let timeS = random.next() * periodS, sent = 0; timeS < seconds; timeS += periodS, sent++) {
    const payload = nextPayload(timeS, sent);
    if (!isLost()) received.push({ timeS: timeS + random.next() * layout.jitter * periodS, payload });
  }
  return received;
}
