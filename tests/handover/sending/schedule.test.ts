/**
 * The sending schedule in C over simulated time, held against a model of it here and the TypeScript encoder: periods, places in time, late calls, a
 * count that wraps, counters that step and checksums that follow. Random layouts, seed in the title.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PlannedFrame } from '../../../src/handover/needs/types.ts';
import type { CScheduled } from '../../../src/handover/sending/schedule-content.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { advanceCounter } from '../../../src/map/counter.ts';
import { compileEncoder } from '../../../src/map/encode.ts';
import { physicalLimits } from '../../../src/map/limits.ts';
import { formatPayload, parsePayload } from '../../../src/map/raw-values.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { CLANG, leaveOutIf } from '../maps/toolchains.ts';
import { requireGcc, type Workplace } from '../../support/compile-c.ts';
import { aChecksum, aCounter, aMap, aSignal } from '../../support/map-parts.ts';
import { randomFrame, randomPayload } from '../../support/random-frames.ts';
import { planned } from '../../support/plan-parts.ts';
import { compiled, needed, run, scheduleOf, seen, type Order, type Sent } from './schedule-run.ts';

beforeAll(requireGcc);
const places: Workplace[] = [];
afterAll(() => places.forEach((place) => place.remove()));
function built(...args: Parameters<typeof compiled>): Workplace {
  const place = compiled(...args);
  places.push(place);
  return place;
}

/** A frame whose payload at rest is one that its own rules make. */
function atRest(frame: MapFrame, random: Random): MapFrame {
  const signals = frame.signals.map((signal) => {
    const limits = physicalLimits(signal);
    return { ...signal, observed: limits && { ...limits } };
  });
  const counters = Object.fromEntries(
    frame.counters.map(({ name, min, max }) => [name, min + random.below(max - min + 1)]),
  );
  const encoded = compileEncoder(frame).encode({}, { base: randomPayload(random, frame.length), counters });
  if (!encoded.ok) throw new Error(encoded.problems[0].message);
  return {
    ...frame,
    role: 'needed-by-part' as const,
    signals,
    rest: { payload: formatPayload(encoded.value), capture: 'c1', fromS: 0, toS: 1, marked: 'at rest' },
  };
}

/** What the k-th frame sent reads, k from 0. */
function bytesOf(frame: MapFrame, count: number): string[] {
  const encoder = compileEncoder(frame);
  const rest = parsePayload(frame.rest?.payload ?? '') as Uint8Array;
  const states = encoder.compiled.counters
    .filter(({ present }) => present(rest, 0, rest.length))
    .map(({ rule, raw }) => ({ rule, state: { value: Number(raw(rest, 0)), sent: 0 } }));
  return Array.from({ length: count }, () => {
    const counters = Object.fromEntries(states.map(({ rule, state }) => [rule.name, state.value]));
    const encoded = encoder.encode({}, { counters });
    states.forEach((each) => (each.state = advanceCounter(each.rule, each.state)));
    return encoded.ok ? formatPayload(encoded.value).replaceAll(' ', '') : encoded.problems[0].message;
  });
}

/** When a periodic frame goes out, and how many turns are missed, if steps come at these instants. */
function model({ firstUs, periodUs }: CScheduled, steps: readonly number[]): { atUs: number[]; missed: number } {
  const atUs: number[] = [];
  let [due, missed] = [firstUs ?? 0, 0];
  for (const step of steps) {
    if (step < due) continue;
    atUs.push(step);
    const turns = Math.floor((step - due) / periodUs);
    missed += turns;
    due += (turns + 1) * periodUs;
  }
  return { atUs, missed };
}

const of = (sent: readonly Sent[], { frame }: CScheduled): Sent[] =>
  sent.filter(({ id, extended }) => id === Number(frame.id) && extended === frame.extended);

/** Steps with uneven gaps, and now and then one of half a second. */
function unevenSteps(random: Random, count: number): number[] {
  let atUs = 0;
  return Array.from({ length: count }, () => {
    const here = atUs;
    atUs += random.next() < 0.01 ? 500_000 : 100 + random.below(2900);
    return here;
  });
}

describe('a schedule compiled strictly and run under address and undefined-behaviour checks', () => {
  it.each(['tide', 'kelp', 'buoy'])('keeps periods and places, steps counters, makes checksums: seed %s', (seed) => {
    const random = createRandom(seed);
    const frames = Array.from({ length: 10 }, (_, i) => ({
      ...atRest(randomFrame(random), random),
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      name: `frame ${i}`,
      bus: `can${i % 2}`,
    })).map((frame) => ({
      ...frame,
      timing: { kind: 'periodic' as const, periodMs: random.pick([5, 10, 20, 100, 9.973, 250]), jitterMs: 0.1 },
    }));
    const map = aMap(frames);
    const plan = frames.map((frame) =>
      planned(frame, {
        phaseMs: random.next() < 0.7 ? random.between(0, frame.timing.periodMs) : null,
        firstAfterWakeMs: random.next() < 0.5 ? seen(random.between(0, 300)) : null,
      }),
    );
    const schedule = scheduleOf(map, plan);
    expect(schedule.frames.length, JSON.stringify(schedule.leftOut)).toBeGreaterThan(5);
    const start = 0xfff00000 + random.below(0xfffff);
    const steps = unevenSteps(random, 3000);
    const choices = seed === 'kelp' ? ({ scaling: 'integer', crc: 'table' } as const) : {};
    const { sent, counts } = run(
      built(map, schedule, 'sm', choices),
      start,
      steps.map((atUs) => ({ step: start + atUs })),
    );
    expect(sent.length).toBeGreaterThan(1000);
    schedule.frames.forEach((scheduled, i) => {
      const own = of(sent, scheduled);
      const want = model(scheduled, steps);
      expect(own.map(({ atUs }) => atUs)).toEqual(want.atUs);
      expect(own.map(({ data }) => data)).toEqual(bytesOf(scheduled.frame, want.atUs.length));
      expect(counts[i]).toEqual({ sent: want.atUs.length, missed: want.missed, refused: 0, failed: 0 });
      expect(
        own.every(({ bus, fd }) => schedule.buses[bus]?.name === scheduled.frame.bus && fd === scheduled.frame.fd),
      );
    });
    expect(sent).toHaveLength(counts.reduce((sum, count) => sum + count.sent, 0));
  });

  const guarded = needed({
    name: 'guarded',
    counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4, max: 14 })],
    checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2, 3, 4, 5, 6] })],
  });
  const kindOf = (name: string, id: string, timing: Partial<MapFrame['timing']>): MapFrame =>
    needed({ name, id, timing: { kind: 'on-change', periodMs: null, jitterMs: null, ...timing } });
  const ms = (count: number, from = 0): Order[] =>
    Array.from({ length: count }, (_, i) => ({ step: (from + i) * 1000 }));

  it('a frame that is not taken is tried again, and its counter waits for it', () => {
    const map = aMap([guarded]);
    const place = built(map, scheduleOf(map, [planned(guarded)]));
    const { sent, counts } = run(place, 0, [
      ...ms(15),
      { refuse: true },
      ...ms(3, 19),
      { refuse: false },
      ...ms(20, 22),
    ]);
    expect(sent.map(({ atUs, data }) => [atUs / 1000, data])).toEqual([
      [0, '0000000000000000'],
      [10, '0000000000000101'],
      [22, '0000000000000202'],
      [30, '0000000000000303'],
      [40, '0000000000000404'],
    ]);
    expect(counts).toEqual([{ sent: 5, missed: 0, refused: 2, failed: 0 }]);
  });

  it('refused for longer than a turn, the turns that went by are missed, not made up for', () => {
    const map = aMap([guarded]);
    const place = built(map, scheduleOf(map, [planned(guarded)]));
    const { sent, counts } = run(place, 0, [{ refuse: true }, ...ms(35), { refuse: false }, ...ms(20, 35)]);
    expect(sent.map(({ atUs }) => atUs / 1000)).toEqual([35, 40, 50]);
    expect(counts).toEqual([{ sent: 3, missed: 3, refused: 35, failed: 0 }]);
  });

  it('one frame is taken off the bus and put back at its own place; a stop ends everything', () => {
    const other = needed({ name: 'other', id: '0x200', timing: { kind: 'periodic', periodMs: 20, jitterMs: 0 } });
    const map = aMap([guarded, other]);
    const schedule = scheduleOf(map, [planned(guarded), planned(other, { phaseMs: 3 })]);
    const index = schedule.frames.findIndex(({ frame }) => frame.name === 'guarded');
    const orders: Order[] = [
      ...ms(25),
      { switch: index, on: false },
      ...ms(38, 25),
      { switch: index, on: true },
      ...ms(20, 63),
      { stop: true },
      ...ms(100, 83),
    ];
    const { sent } = run(built(map, schedule), 0, orders);
    const at = (id: number) => sent.filter((each) => each.id === id).map(({ atUs }) => atUs / 1000);
    expect(at(0x123)).toEqual([0, 10, 20, 70, 80]);
    expect(at(0x200)).toEqual([3, 23, 43, 63]);
  });

  it('by clang, optimised, the same frames come out', ({ skip }) => {
    leaveOutIf(CLANG, skip);
    const map = aMap([guarded]);
    const place = built(map, scheduleOf(map, [planned(guarded)]));
    const under = run(place, 0, ms(100)).sent;
    place.compile('clang', ['-std=c99', '-O2', 'signal_map.c', 'signal_map_schedule.c', 'driver.c', '-o', 'driver']);
    expect(run(place, 0, ms(100)).sent).toEqual(under);
    expect(under).toHaveLength(10);
  });

  it('a stop within put holds the frames that were due beside it', () => {
    const others = [1, 2, 3].map((i) => needed({ name: `other${i}`, id: `0x20${i}` }));
    const map = aMap(others);
    const schedule = scheduleOf(
      map,
      others.map((frame) => planned(frame, { phaseMs: 0 })),
    );
    const place = built(map, schedule);
    place.write(
      'main.c',
      `#include "signal_map_schedule.h"
#include <stdio.h>
static sm_schedule s;
static int put(void *u, unsigned b, uint32_t id, int e, int f, const uint8_t *d, uint8_t n)
{ (void)u; (void)b; (void)e; (void)f; (void)d; (void)n; printf("%lX ", (unsigned long)id); if (id == 0x202u) sm_schedule_stop(&s); return 0; }
int main(void) { uint32_t t; sm_schedule_init(&s, 0u);
  for (t = 0u; t < 90000u; t += 1000u) (void)sm_schedule_step(&s, t, put, 0);
  return 0; }\n`,
    );
    place.compile('gcc', ['-std=c99', 'signal_map.c', 'signal_map_schedule.c', 'main.c', '-o', 'main']);
    expect(place.run('main', new Uint8Array())).toBe('201 202 ');
  });

  it('on a change, mixed with a period, in bursts, once after waking; and never twice at one instant', () => {
    const change = kindOf('change', '0x201', { burst: { count: 3, periodMs: 5 } });
    const mixed = kindOf('mixed', '0x202', { kind: 'mixed', periodMs: 50 });
    const once = kindOf('once', '0x203', { kind: 'once' });
    const map = aMap([change, mixed, once]);
    const plan: PlannedFrame[] = [
      planned(change),
      planned(mixed, { phaseMs: 0 }),
      planned(once, { firstAfterWakeMs: seen(12) }),
    ];
    const schedule = scheduleOf(map, plan);
    const number = (name: string) => schedule.frames.findIndex(({ frame }) => frame.name === name);
    const orders: Order[] = [
      ...ms(30),
      { changed: number('change') },
      { changed: number('mixed') },
      { changed: number('once') },
      { changed: 99 },
      ...ms(20, 30),
      { changed: number('mixed') },
      ...ms(60, 50),
    ];
    const { sent, changed } = run(built(map, schedule), 0, orders);
    const at = (id: number) => sent.filter((each) => each.id === id).map(({ atUs }) => atUs / 1000);
    expect(at(0x201)).toEqual([30, 35, 40]);
    expect(at(0x202)).toEqual([0, 30, 50, 100]);
    expect(at(0x203)).toEqual([12]);
    expect(changed).toEqual([0, 0, -1, -1, 0]);
  });

  it('a value out of range is sent by no step, and counted', () => {
    const limit = aSignal({ name: 'limit', lsb: { byte: 0, bit: 0 }, length: 8, observed: { min: 0, max: 10 } });
    const frame = { ...guarded, signals: [limit] };
    const map = aMap([frame]);
    const schedule = scheduleOf(map, [planned(frame)]);
    const place = built(map, schedule);
    place.write(
      'main.c',
      `#include "signal_map_schedule.h"
#include <stdio.h>
static int put(void *u, unsigned b, uint32_t id, int e, int f, const uint8_t *d, uint8_t n)
{ (void)u; (void)b; (void)id; (void)e; (void)f; (void)n; printf("%u ", d[0]); return 0; }
int main(void) { static sm_schedule s; uint32_t t;
  sm_schedule_init(&s, 0u); s.live.guarded.limit = 7;
  for (t = 0u; t < 30000u; t += 1000u) { if (t == 15000u) s.live.guarded.limit = 11; (void)sm_schedule_step(&s, t, put, 0); }
  printf("%u", (unsigned)s.frames[0].failed); return 0; }\n`,
    );
    place.compile('gcc', ['-std=c99', 'signal_map.c', 'signal_map_schedule.c', 'main.c', '-o', 'main']);
    expect(place.run('main', new Uint8Array())).toBe('7 7 1');
  });

  it.each(['sm', 'row', 'send', 'Int'])('names that could meet its own compile, prefix %s', (prefix) => {
    const hostile = [
      'schedule',
      'schedule_init',
      'count',
      'buses',
      'bus_can0',
      'was_sent',
      'h',
      'put',
      'state',
      'int',
      '*/ x',
      '',
      '??/',
    ];
    const frames = hostile.map((name, i) => ({
      ...guarded,
      name,
      id: `0x${(0x300 + i).toString(16).toUpperCase()}`,
      bus: i % 3 === 0 ? '*/ "can0"\n??/' : i % 3 === 1 ? 'can0' : 'CAN0',
    }));
    const map = aMap(frames, { part: { title: '*/ #error \\', donor: '', notes: '' } });
    const release = frames.map(({ bus, id }) => `${bus}/${id}`);
    const schedule = scheduleOf(
      map,
      frames.map((frame) => planned(frame)),
      release,
      prefix,
    );
    expect(schedule.frames).toHaveLength(frames.length);
    expect(new Set(schedule.frames.map(({ macro }) => macro)).size).toBe(frames.length);
    const { sent } = run(built(map, schedule, prefix.toLowerCase()), 0, ms(12));
    expect(new Set(sent.map(({ id }) => id)).size).toBe(frames.length);
  });
});
