/**
 * A small world for trying the statistics of responses: a driver's actions, fields that answer them directly, fields that
 * follow with a lag, and many that have nothing to do with them. Each field has a frame of its own
 * (16 bits, little), so that nothing here depends on how payloads are packed or taken apart.
 */
import type { Mark } from '../../src/actions/types.ts';
import type { ProposedField, ProposedFrame } from '../../src/map/proposed-fields.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { formatId } from '../../src/kit/units.ts';

/** Step of the simulated world, seconds. */
export const STEP_S = 0.02;

export interface WorldField {
  readonly name: string;
  /** [steps] physical or raw, any real numbers; laid on 16 bits by its own range. */
  readonly values: Float64Array;
  readonly periodS: number;
  readonly kind?: 'number' | 'states' | 'flag';
}

export interface World {
  readonly table: FrameTable;
  readonly frames: ProposedFrame[];
}

const clampRaw = (value: number): number => Math.min(65535, Math.max(0, Math.round(value)));

function rawOf(field: WorldField): (value: number) => number {
  if (field.kind && field.kind !== 'number') return clampRaw;
  let least = Number.POSITIVE_INFINITY;
  let greatest = Number.NEGATIVE_INFINITY;
  for (const value of field.values) {
    least = Math.min(least, value);
    greatest = Math.max(greatest, value);
  }
  const scale = greatest > least ? 4000 / (greatest - least) : 0;
  return (value) => clampRaw(100 + (value - least) * scale);
}

function streamOf(field: WorldField, index: number, durationS: number, random: Random): Stream {
  const raw = rawOf(field);
  const phase = random.next() * field.periodS;
  const count = Math.floor((durationS - phase) / field.periodS);
  const timeUs = new Float64Array(count);
  const payload = new Uint8Array(count * 2);
  for (let row = 0; row < count; row++) {
    const atS = phase + row * field.periodS + 0.0004 * random.next();
    timeUs[row] = Math.round(atS * 1e6);
    const value = raw(field.values[Math.min(field.values.length - 1, Math.floor(atS / STEP_S))] as number);
    payload[row * 2] = value & 255;
    payload[row * 2 + 1] = value >> 8;
  }
  const key = { bus: 'can0', id: 0x100 + index, extended: false, direction: 'received' as const };
  return {
    ...key,
    index,
    count,
    timeUs,
    arrival: new Uint32Array(count),
    stride: 2,
    payload,
    length: 2,
    lengths: null,
    fdFlags: null,
  };
}

export function worldOf(fields: readonly WorldField[], durationS: number, seed: number, originText = '0'): World {
  const random = createRandom(seed).fork('phases');
  const streams = fields.map((field, index) => streamOf(field, index, durationS, random));
  const table: FrameTable = {
    streams,
    buses: ['can0'],
    origin: { kind: Number(originText) > 1e8 ? 'epoch' : 'relative', text: originText },
    endUs: durationS * 1e6,
    frameCount: streams.reduce((sum, { count }) => sum + count, 0),
    remotes: [],
    errors: [],
    files: [],
  };
  const frames = fields.map((field, index): ProposedFrame => {
    const proposed: ProposedField = {
      name: field.name,
      lsb: { byte: 0, bit: 0 },
      length: 16,
      order: 'little',
      coding: 'unsigned',
      kind: field.kind ?? 'number',
      when: null,
      invalid: [],
    };
    return {
      bus: 'can0',
      id: formatId(0x100 + index),
      extended: false,
      direction: 'received',
      selectors: [],
      fields: [proposed],
    };
  });
  return { table, frames };
}

const steps = (durationS: number): number => Math.ceil(durationS / STEP_S);

export function series(durationS: number, at: (k: number) => number): Float64Array {
  return Float64Array.from({ length: steps(durationS) }, (_, k) => at(k));
}

/** First-order lag. */
export function lagged(values: Float64Array, tauS: number): Float64Array {
  const gain = 1 - Math.exp(-STEP_S / tauS);
  let state = values[0] as number;
  return values.map((value) => (state += gain * (value - state)));
}

export function delayed(values: Float64Array, byS: number): Float64Array {
  const by = Math.round(byS / STEP_S);
  return values.map((_, k) => values[Math.max(0, k - by)] as number);
}

/** Mean-reverting noise with a memory of tauS seconds. */
export function wander(durationS: number, tauS: number, random: Random): Float64Array {
  const keep = Math.exp(-STEP_S / tauS);
  const kick = Math.sqrt(1 - keep * keep);
  let state = random.normal();
  return series(durationS, () => (state = keep * state + kick * random.normal()));
}

export function randomWalk(durationS: number, random: Random): Float64Array {
  let state = 0;
  return series(durationS, () => (state += random.normal()));
}

/** A flag that goes on about every `everyS` seconds for about `forS`. */
export function telegraph(durationS: number, everyS: number, forS: number, random: Random): Float64Array {
  let on = false;
  return series(durationS, () => {
    if (random.next() < STEP_S / (on ? forS : everyS)) on = !on;
    return on ? 1 : 0;
  });
}

/** A pedal: pressed now and then to some depth, with a ramp and a trembling foot. */
export function pedal(
  spans: readonly { startS: number; endS: number }[],
  durationS: number,
  random: Random,
): Float64Array {
  const target = new Float64Array(steps(durationS));
  for (const { startS, endS } of spans) {
    target.fill(random.between(30, 90), Math.floor(startS / STEP_S), Math.floor(endS / STEP_S));
  }
  const moved = lagged(target, 0.08);
  return moved.map((value) => Math.max(0, value + (value > 1 ? 0.6 * random.normal() : 0)));
}

export interface Span {
  readonly startS: number;
  readonly endS: number;
}

/** Spans one after the other with random pauses and lengths. */
export function randomSpans(
  fromS: number,
  toS: number,
  pause: readonly [number, number],
  length: readonly [number, number],
  random: Random,
): Span[] {
  const spans: Span[] = [];
  let atS = fromS + random.between(...pause);
  while (atS < toS) {
    const endS = atS + random.between(...length);
    if (endS < toS) spans.push({ startS: atS, endS });
    atS = endS + random.between(...pause);
  }
  return spans;
}

export const flagOf = (spans: readonly Span[], durationS: number): Float64Array => {
  const out = new Float64Array(steps(durationS));
  for (const { startS, endS } of spans) out.fill(1, Math.floor(startS / STEP_S), Math.floor(endS / STEP_S));
  return out;
};

/** How a person marks what was done: late by a reaction, on a clock of their own, now and then missing one. */
export function markSpans(action: string, spans: readonly Span[], clockS: number, random: Random, missed = 0): Mark[] {
  const reaction = (): number => Math.max(0.1, 0.3 + 0.09 * random.normal());
  return spans
    .filter(() => random.next() >= missed)
    .map(({ startS, endS }) => ({ action, startS: startS + reaction() - clockS, endS: endS + reaction() - clockS }));
}

/** Fields of a driven vehicle that nobody marks anything about: signals with all kinds of memory. */
export function bystanders(count: number, durationS: number, random: Random): WorldField[] {
  const drive = driveOf(durationS, random);
  return Array.from({ length: count }, (_, i): WorldField => {
    const periodS = random.pick([0.02, 0.05, 0.1, 0.1, 0.2, 0.5]);
    const name = `bystander_${i}`;
    switch (i % 8) {
      case 0:
        return { name, periodS, values: randomWalk(durationS, random) };
      case 1:
        return { name, periodS, values: wander(durationS, random.between(0.05, 20), random) };
      case 2:
        return {
          name,
          periodS,
          kind: 'flag',
          values: telegraph(durationS, random.between(5, 200), random.between(0.5, 20), random),
        };
      case 3:
        return {
          name,
          periodS,
          values: delayed(lagged(drive.torque, random.between(0.02, 0.5)), random.between(0, 0.3)),
        };
      case 4:
        return {
          name,
          periodS,
          values: lagged(drive.speed, random.between(0.02, 1)).map((v) => v + 0.1 * random.normal()),
        };
      case 5:
        return {
          name,
          periodS,
          kind: 'states',
          values: telegraph(durationS, 40, 30, random).map((v) => v * random.below(4)),
        };
      case 6:
        return { name, periodS, values: delayed(drive.pedal, random.between(0, 0.2)).map((v) => v + random.normal()) };
      default:
        return { name, periodS, values: lagged(wander(durationS, 60, random), 5) };
    }
  });
}

/** Pedal, torque and speed of a vehicle driven stop and go. */
export function driveOf(
  durationS: number,
  random: Random,
): { presses: Span[]; pedal: Float64Array; torque: Float64Array; speed: Float64Array } {
  const presses = randomSpans(5, durationS - 5, [2, 15], [1, 6], random);
  const foot = pedal(presses, durationS, random);
  const torque = lagged(foot, 0.15);
  let v = 0;
  const speed = torque.map((t) => (v = Math.max(0, v + STEP_S * (0.08 * t - 0.06 * v - 0.3))));
  return { presses, pedal: foot, torque, speed };
}
