/**
 * Vehicles whose payloads follow other habits than the demo's: `payloadDrive(condition, seed)` gives two drives as streams with their truth.
 * Above random numbers, the bit rule and the stream it shares nothing with the demo; checksums are worked out bit by bit, here.
 */
import { writeRaw } from '../../../../src/frames/bits.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT } from '../../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../../src/kit/random.ts';
import { makeStream } from '../../../fields/support/streams.ts';
import type { KnownCounter, KnownDrive, KnownFrame, KnownStream, Presence } from '../../fields-truth.ts';
import { drawGuardHabit, type GuardPlan } from './guards.ts';
import { planFrame, type FramePlan, type SenderHabits } from './plan-frame.ts';
import { drawSources, runSources, type SourceColumn, type SourcePlan } from './sources.ts';

export interface PayloadCondition {
  readonly identifiers: readonly [number, number];
  readonly buses: number;
  readonly guarded: number;
  readonly keyed: number;
  readonly odd: number;
  readonly paged: number;
  readonly extended: number;
  readonly fd: number;
  readonly durationS: number;
}

interface VehiclePlan {
  readonly sources: readonly SourcePlan[];
  readonly frames: readonly FramePlan[];
}

const CIPHERED = 0.08;

function drawSender(random: Random, condition: PayloadCondition): SenderHabits {
  const fd = random.next() < condition.fd;
  const guarded = random.next() < condition.guarded;
  return {
    order: random.pick(['little', 'big', 'big', 'mixed'] as const),
    packing: random.pick(['close', 'close', 'bytes', 'scattered'] as const),
    negative: random.pick(['two', 'two', 'offset', 'sign-magnitude'] as const),
    rich: random.next() < 0.15,
    noData: random.pick([0, 0, 1, 2] as const),
    filling: random.pick([0, 0, 255]),
    guard: guarded ? drawGuardHabit(random, { ...condition, fd }) : null,
    fd,
    startsS: random.next() < 0.3 ? random.between(0.1, 2) : 0,
  };
}

function drawIdentifiers(random: Random, count: number, extended: boolean): number[] {
  const ids = new Set<number>();
  while (ids.size < count) ids.add(extended ? 0x0c000000 + random.below(2 ** 26) : 0x20 + random.below(0x6d0));
  return [...ids];
}

function drawVehicle(random: Random, condition: PayloadCondition): VehiclePlan {
  const sources = drawSources(random.fork('sources'), 24);
  const [least, most] = condition.identifiers;
  const total = least + random.below(most - least + 1);
  const frames: FramePlan[] = [];
  for (let sender = 0; frames.length < total; sender++) {
    const own = random.fork(`sender ${sender}`);
    const habits = drawSender(own, condition);
    const count = Math.min(total - frames.length, 2 + own.below(6));
    const extended = own.next() < condition.extended;
    for (const id of drawIdentifiers(own, count, extended)) {
      const bus = `can${sender % condition.buses}`;
      if (frames.some((frame) => frame.id === id && frame.bus === bus)) continue;
      const wish = { id, extended, bus, paged: own.next() < condition.paged, ciphered: own.next() < CIPHERED };
      frames.push(planFrame(own.fork(`frame ${id}`), wish, habits, sources));
    }
  }
  return { sources, frames };
}

function timesOf(random: Random, { periodMs }: FramePlan, durationS: number): Float64Array {
  const times: number[] = [];
  for (let timeS = random.next() * 0.05; timeS < durationS; timeS += periodMs / 1000)
    times.push(timeS + 0.0004 * random.next());
  return Float64Array.from(times);
}

/** [rows] which page is on; -1 without pages. */
function pagesOf({ pages }: FramePlan, rows: number): Int16Array {
  if (!pages) return new Int16Array(rows).fill(-1);
  const { turns, repeats } = pages;
  return Int16Array.from({ length: rows }, (_, row) => turns[Math.floor(row / repeats) % turns.length] as number);
}

interface Counting {
  value: number;
  sent: number;
}

function advance({ counter }: GuardPlan['habit'], state: Counting, changed: boolean): void {
  state.sent++;
  if (counter.onChange ? !changed : state.sent % counter.every !== 0) return;
  const modulus = counter.max - counter.min + 1;
  state.value = counter.min + ((((state.value - counter.min + counter.step) % modulus) + modulus) % modulus);
}

const allOnes = (length: number): number => 2 ** length - 1;

function writeValues(
  plan: FramePlan,
  timesS: Float64Array,
  page: Int16Array,
  random: Random,
  sources: readonly SourceColumn[],
): Uint8Array {
  const { bytes, habits, pages, cipher } = plan;
  const payload = new Uint8Array(timesS.length * bytes).fill(habits.filling);
  const silent = timesS.findIndex((timeS) => timeS >= habits.startsS);
  for (const { place, page: own, value } of plan.values) {
    const raw = value.run(random, timesS, sources);
    const fillsFrom = value.kind === 'number' && habits.noData > 0;
    for (let row = 0; row < timesS.length; row++) {
      if (own >= 0 && page[row] !== own) continue;
      const shown = row < silent && fillsFrom ? allOnes(place.length) - (habits.noData - 1) : (raw[row] as number);
      writeRaw(place, Math.max(0, shown), payload, row * bytes);
    }
  }
  for (let row = 0; row < timesS.length; row++) {
    for (const { place, values } of pages?.pages[page[row] as number]?.on ?? [])
      writeRaw(place, values[0] as number, payload, row * bytes);
    for (const byte of cipher) payload[row * bytes + byte] = random.below(256);
  }
  return payload;
}

function writeGuards(plan: FramePlan, payload: Uint8Array, page: Int16Array, random: Random): void {
  const { bytes, guards, guardedPages } = plan;
  for (const guard of guards) {
    const { counter } = guard.habit;
    const state = { value: counter.min + random.below(counter.max - counter.min + 1), sent: 0 };
    let before = '';
    for (let row = 0; row < page.length; row++) {
      if (guardedPages && !guardedPages.includes(page[row] as number)) continue;
      const own = payload.subarray(row * bytes, (row + 1) * bytes);
      writeRaw(guard.counter, 0, own);
      writeRaw(guard.place, 0, own);
      const content = own.join();
      if (row > 0) advance(guard.habit, state, content !== before);
      before = content;
      writeRaw(guard.counter, state.value, own);
      writeRaw(guard.place, guard.tagOf(own, state.value - counter.min, random.below(2 ** 24)), own);
    }
  }
}

/** Frames lost in bursts. */
function keptRows(random: Random, rows: number): number[] {
  const lost = new Set<number>();
  for (let burst = 0; burst < 5; burst++) {
    const from = random.below(rows);
    for (let i = 0; i < 1 + random.below(8); i++) lost.add(from + i);
  }
  return Array.from({ length: rows }, (_, row) => row).filter((row) => !lost.has(row));
}

function runFrame(
  plan: FramePlan,
  index: number,
  drive: Random,
  sources: readonly SourceColumn[],
  durationS: number,
): KnownStream {
  const random = drive.fork(`${plan.bus} ${plan.id}`);
  const timesS = timesOf(random, plan, durationS);
  const page = pagesOf(plan, timesS.length);
  const payload = writeValues(plan, timesS, page, random, sources);
  writeGuards(plan, payload, page, random);
  const kept = keptRows(random, timesS.length);
  const { bytes, fd, bus, extended, id } = plan;
  const own = new Uint8Array(kept.length * bytes);
  kept.forEach((row, to) => own.set(payload.subarray(row * bytes, (row + 1) * bytes), to * bytes));
  const timeUs = Float64Array.from(kept, (row) => Math.round((timesS[row] as number) * 1e6));
  const fdFlags = fd ? new Uint8Array(kept.length).fill(FD_FORMAT | FD_BIT_RATE_SWITCH) : null;
  return { frame: truthOf(plan), stream: { ...makeStream(own, bytes, id), timeUs, bus, extended, index, fdFlags } };
}

function truthOf({ guards, guardedPages, pages, values, cipher }: FramePlan): KnownFrame {
  const outer = pages?.selectors[0];
  const on: Presence =
    guardedPages && outer && pages
      ? [{ place: outer.place, values: guardedPages.flatMap((page) => [...(pages.pages[page]?.on[0]?.values ?? [])]) }]
      : [];
  return {
    fields: values.map(({ place, on: own, value: { coding, kind, model, quantity, kin, blurred } }) => ({
      place,
      on: own,
      coding,
      kind,
      model,
      quantity,
      kin,
      blurred,
    })),
    counters: guards.map(({ counter, habit }): KnownCounter => ({ ...habit.counter, place: counter, on })),
    checksums: guards.map(({ place, kind, model }) => ({ place, on, kind, model })),
    selectors: pages?.selectors ?? [],
    cipher: cipher.map((byte) => ({ lsb: { byte, bit: 0 }, length: 8, order: 'little' })),
  };
}

export function payloadDrive(name: string, condition: PayloadCondition, seed: number): KnownDrive {
  const random = createRandom(seed).fork('payloads');
  const plan = drawVehicle(random, condition);
  const drive = (number: number): KnownStream[] => {
    const own = random.fork(`drive ${number}`);
    const sources = runSources(plan.sources, own, condition.durationS);
    return plan.frames.map((frame, index) => runFrame(frame, index, own, sources, condition.durationS));
  };
  return { name: `other ${name} ${seed}`, streams: drive(1), again: () => drive(2) };
}
