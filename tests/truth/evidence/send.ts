/** Sends a machine's frames over one recording: reads each signal at the moment of sending, counts, closes with guards, loses a few. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import type { PlainFrame } from '../../../src/frames/build-table.ts';
import { FrameBuilder } from '../../../src/frames/builder.ts';
import type { Slot } from '../../../src/frames/slot.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { chance } from '../stranger/draw.ts';
import { tagOf } from '../stranger/guard-work.ts';
import { Counting, writerOf } from '../stranger/run-layout.ts';
import { beatTimes } from './beats.ts';
import { STEP_S, valueAt } from './columns.ts';
import type { Layout } from '../stranger/layout.ts';
import type { Frame, Shown } from './layout.ts';

/** Rounded to the field's raw bits; stays at its ends. */
export function rawOf(
  { place, coding, scale, offset }: Pick<Shown, 'place' | 'coding' | 'scale' | 'offset'>,
  physical: number,
): number {
  const all = 2 ** place.length;
  const raw = Math.round((physical - offset) / scale);
  if (coding === 'unsigned') return Math.max(0, Math.min(all - 1, raw));
  const half = all / 2;
  const within = Math.max(-half + 1, Math.min(half - 1, raw));
  if (coding === 'signed') return (within + all) % all;
  return within < 0 ? half - within : within;
}

function readerOf(shown: Shown, random: Random): (timeS: number) => number {
  const { noise, column } = shown.signal;
  if (noise === 0) return (timeS) => rawOf(shown, valueAt(column, timeS));
  return (timeS) => rawOf(shown, valueAt(column, timeS) + random.normal() * noise);
}

/** [steps ascending] when one of the frame's flags or states turns. */
function turns({ shown }: Frame, seconds: number): number[] {
  const at = new Set<number>();
  for (const { signal } of shown) {
    if (signal.kind === 'number') continue;
    const { column } = signal;
    for (let step = 1; step < column.length; step++) if (column[step] !== column[step - 1]) at.add(step);
  }
  return [...at].map((step) => step * STEP_S).filter((timeS) => timeS < seconds);
}

function times(frame: Frame, random: Random, seconds: number): number[] {
  const all = beatTimes(frame.beat, seconds, frame.afterS);
  if (!frame.onChange) return all;
  const extra = turns(frame, seconds).map((timeS) => timeS + random.between(0.001, 0.004));
  return [...all, ...extra].sort((a, b) => a - b);
}

export interface Awake {
  readonly fromS: number;
  readonly toS: number;
}

/** What a logger received of one identifier. */
export interface Sent {
  readonly layout: Layout;
  /** [count] ascending. */
  readonly timeUs: Float64Array;
  /** [count * length] */
  readonly payload: Uint8Array;
}

type Filler = (data: Uint8Array, timeS: number, sent: number) => void;

/** Fills one payload after the other. */
function fillerOf({ layout, shown }: Frame, random: Random): Filler {
  const fields = shown.map((each) => ({ read: readerOf(each, random), write: writerOf(each.place) }));
  const counters = layout.counters.map((plan) => new Counting(plan, random));
  const guards = layout.guards.map((guard) => ({ guard, write: writerOf(guard.place) }));
  return (data, timeS, sent) => {
    data.set(layout.fill);
    for (const { read, write } of fields) write(data, read(timeS));
    for (const counter of counters) counter.send(data, sent === 0, true);
    for (const { guard, write } of guards) {
      write(data, 0);
      write(data, tagOf(guard, data, counters[0]?.value ?? 0, sent));
    }
  };
}

/** awake: when its sender is; loss: probability for each frame. */
export function sendFrame(frame: Frame, seed: string, seconds: number, awake: readonly Awake[], loss: number): Sent {
  const { layout } = frame;
  const { bus, id, length, periodMs, jitter } = layout;
  const random = createRandom(`evidence send ${seed} ${bus} ${id}`);
  const fill = fillerOf(frame, random);
  const due = times(frame, random, seconds).filter((timeS) =>
    awake.some(({ fromS, toS }) => timeS >= fromS && timeS < toS),
  );
  const timeUs = new Float64Array(due.length);
  const payload = new Uint8Array(due.length * length);
  let count = 0;
  due.forEach((timeS, sent) => {
    fill(payload.subarray(count * length, (count + 1) * length), timeS, sent);
    const lateS = (0.1 + random.next() * 0.9) * Math.min(0.002, (jitter * periodMs) / 1000);
    const before = count > 0 ? (timeUs[count - 1] as number) : -1;
    timeUs[count] = Math.max(before + 120, Math.round((timeS + lateS) * 1e6));
    if (!chance(random, loss)) count++;
  });
  return { layout, timeUs: timeUs.slice(0, count), payload: payload.slice(0, count * length) };
}

const PLACES = 1024;

/** All of it in the order of time, with frames that came otherwise. */
export function tableOf(streams: readonly Sent[], others: readonly PlainFrame[]): FrameTable {
  const builder = new FrameBuilder();
  const bySlot = streams.map(({ layout: { bus, id, extended } }) =>
    builder.slot(builder.busIndex(bus), id, extended, false),
  );
  const stamps = [...streams.map(({ timeUs }) => timeUs), ...others.map(({ timeUs }) => [timeUs])];
  const keys = new Float64Array(stamps.reduce((sum, times) => sum + times.length, 0));
  let at = 0;
  stamps.forEach((times, stream) => {
    const place = Math.min(stream, streams.length);
    for (const timeUs of times) keys[at++] = timeUs * PLACES + place;
  });
  keys.sort();
  const next = streams.map(() => 0);
  const waiting = [...others].sort((a, b) => a.timeUs - b.timeUs);
  let talk = 0;
  for (const key of keys) {
    const stream = key % PLACES;
    if (stream === streams.length) {
      const { timeUs, bus, id, extended = false, data } = waiting[talk++] as PlainFrame;
      builder.add(
        builder.slot(builder.busIndex(bus), id, extended, false),
        timeUs,
        Uint8Array.from(data),
        0,
        data.length,
        0,
      );
      continue;
    }
    const { layout, timeUs, payload } = streams[stream] as Sent;
    const row = next[stream]!++;
    builder.add(bySlot[stream] as Slot, timeUs[row] as number, payload, row * layout.length, layout.length, 0);
  }
  return builder.finish({ files: () => [], origin: (firstUs) => ({ kind: 'epoch', text: epochText(firstUs) }) });
}

/** Epoch seconds of true time 0. */
export const EPOCH_S = 1_781_000_000;

/** Microseconds since true time 0 as the exact stamp of the first frame. */
const epochText = (us: number): string => `${EPOCH_S + Math.floor(us / 1e6)}.${String(us % 1e6).padStart(6, '0')}`;
