/** The same quantity in several fields, on streams whose truth is plain: what is told, and what must not be told however well it correlates. */
import { describe, expect, it } from 'vitest';
import { findSameValues } from '../../src/fields/same-value/find.ts';
import { isSame, type Judged } from '../../src/fields/same-value/groups.ts';
import type { SameValueReport } from '../../src/fields/same-value/types.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import type { ProposedFrame } from '../../src/map/proposed-fields.ts';
import { makeStream } from './support/streams.ts';

const SECONDS = 120;
const STEP_S = 0.001;
const POINTS = SECONDS / STEP_S;

/** A smooth wander between 0 and 1, every millisecond. */
function wander(random: Random, paceS: number): Float64Array {
  const out = new Float64Array(POINTS);
  let [value, target] = [0.5, 0.5];
  for (let k = 0; k < POINTS; k++) {
    if (random.next() < STEP_S / paceS) target = random.next();
    value += ((target - value) * STEP_S * 3) / paceS;
    out[k] = value;
  }
  return out;
}

interface Shown {
  readonly periodMs: number;
  /** The raw 16-bit value at a time in seconds. */
  readonly raw: (atS: number) => number;
  readonly phaseMs?: number;
}

const at = (column: Float64Array, atS: number): number =>
  column[Math.max(0, Math.min(POINTS - 1, Math.round(atS / STEP_S)))] as number;

function streamOf({ periodMs, raw, phaseMs = 0 }: Shown, index: number): Stream {
  const count = Math.floor((SECONDS * 1000 - phaseMs) / periodMs);
  const payload = new Uint8Array(count * 2);
  const view = new DataView(payload.buffer);
  const timeUs = Float64Array.from({ length: count }, (_, row) => 1000 * (phaseMs + row * periodMs));
  timeUs.forEach((us, row) => view.setUint16(2 * row, Math.round(raw(us / 1e6))));
  return { ...makeStream(payload, 2, 0x100 + index), timeUs, index };
}

async function findIn(shown: readonly Shown[], kind: 'number' | 'flag' = 'number'): Promise<SameValueReport> {
  const streams = shown.map(streamOf);
  const table = { streams, endUs: SECONDS * 1e6, origin: { kind: 'relative' } } as unknown as FrameTable;
  const findings = streams.map(({ id }): ProposedFrame => ({
    bus: 'can0',
    id: '0x' + id.toString(16).toUpperCase(),
    extended: false,
    direction: 'received',
    selectors: [],
    fields: [
      {
        name: 'b0_1',
        lsb: { byte: 1, bit: 0 },
        length: 16,
        order: 'big',
        coding: 'unsigned',
        kind,
        when: null,
        invalid: [],
      },
    ],
  }));
  return findSameValues({ table, findings, seed: 1 }, {});
}

describe('the same number in several fields', () => {
  const column = wander(createRandom(7), 2);

  it('tells scale, offset, delay and coarser steps, with the one that leads as the source', async () => {
    const { groups } = await findIn([
      { periodMs: 10, raw: (s) => 1000 + 40_000 * at(column, s) },
      { periodMs: 20, phaseMs: 3, raw: (s) => 77 + 10_000 * at(column, s - 0.06) },
      { periodMs: 100, phaseMs: 7, raw: (s) => 200 * at(column, s - 0.2) },
    ]);
    expect(groups).toHaveLength(1);
    const [group] = groups;
    expect(group?.source.id).toBe('0x100');
    expect(group?.members.map(({ place }) => place.id)).toEqual(['0x101', '0x102']);
    const [half, coarse] = group?.members ?? [];
    expect(half?.line?.scale).toBeCloseTo(0.25, 3);
    expect(Math.abs((half?.line?.offset ?? 0) - (77 - 250))).toBeLessThan(5);
    expect(Math.abs((half?.lagMs ?? 0) - 60)).toBeLessThan(6);
    expect(half?.follows).toBe(true);
    expect(coarse?.line?.scale).toBeCloseTo(0.005, 4);
    expect(Math.abs((coarse?.lagMs ?? 0) - 200)).toBeLessThan(40);
    expect(half?.n).toBeGreaterThan(300);
    expect(half?.q).toBeLessThan(0.01);
  });

  it('tells a complemented copy by its negative scale', async () => {
    const { groups } = await findIn([
      { periodMs: 10, raw: (s) => 40_000 * at(column, s) },
      { periodMs: 10, raw: (s) => 65_535 - 40_000 * at(column, s) },
    ]);
    expect(groups[0]?.members[0]?.line?.scale).toBeCloseTo(-1, 3);
  });

  it('tells nothing of two that wander apart, nor of one that follows another slowly', async () => {
    const [first, second] = [wander(createRandom(1), 2), wander(createRandom(2), 2)];
    let held = 0.5;
    const follower = first.map((value) => (held += (value - held) * STEP_S * 2));
    const { groups } = await findIn([
      { periodMs: 10, raw: (s) => 40_000 * at(first, s) },
      { periodMs: 10, raw: (s) => 40_000 * at(second, s) },
      { periodMs: 10, raw: (s) => 40_000 * at(follower, s) },
    ]);
    expect(groups).toEqual([]);
  });

  it('does not take one that follows through a quick filter for one that is delayed as long', async () => {
    const quick = wander(createRandom(11), 0.4);
    const filter = 1 - Math.exp(-STEP_S / 0.06);
    let held = 0.5;
    const follower = quick.map((value) => (held += (value - held) * filter));
    const source = { periodMs: 10, raw: (s: number) => 4_000 * at(quick, s) };
    const follows = await findIn([source, { periodMs: 10, phaseMs: 4, raw: (s) => 4_000 * at(follower, s) }]);
    expect(follows.groups).toEqual([]);
    const delayed = await findIn([source, { periodMs: 10, phaseMs: 4, raw: (s) => 4_000 * at(quick, s - 0.06) }]);
    expect(delayed.groups).toHaveLength(1);
  });

  it('does not take a coarse one for a copy where something else moves it slowly by two of its steps', async () => {
    const load = { periodMs: 10, raw: (s: number) => 40_000 * at(column, s) };
    const sagging = (drop: number) => ({
      periodMs: 20,
      raw: (s: number) => 200 + 80 * at(column, s) - (drop * s) / SECONDS,
    });
    expect((await findIn([load, sagging(1.6)])).groups).toEqual([]);
    expect((await findIn([load, sagging(0)])).groups).toHaveLength(1);
  });

  it('takes two with noise of their own for two measurements, unless the noise is below the rounding', async () => {
    const random = createRandom(6);
    const noisy = (noise: number) => ({
      periodMs: 20,
      raw: (s: number) => 20_000 * at(column, s) + 4_000 + noise * random.normal(),
    });
    const source = { periodMs: 10, raw: (s: number) => 40_000 * at(column, s) };
    expect((await findIn([source, noisy(500)])).groups).toEqual([]);
    const slow = wander(createRandom(8), 20);
    const still = { periodMs: 10, raw: (s: number) => 2_000 * at(slow, s) };
    const beside = (noise: number) => ({
      periodMs: 20,
      raw: (s: number) => 777 * at(slow, s) + 4_000 + noise * random.normal(),
    });
    expect((await findIn([still, beside(0.15)])).groups).toHaveLength(1);
    expect((await findIn([still, beside(3)])).groups).toEqual([]);
  });

  it('asks a coarse one with few levels to cross each border at one value of the finer', async () => {
    const random = createRandom(9);
    const load = { periodMs: 10, raw: (s: number) => 1_000 + 40_000 * at(column, s) };
    const coarse = (noise: number) => ({
      periodMs: 20,
      phaseMs: 7,
      raw: (s: number) => 7 + 17 * at(column, s - 0.05) + noise * random.normal(),
    });
    expect((await findIn([load, coarse(0)])).groups).toHaveLength(1);
    expect((await findIn([load, coarse(0.3)])).groups).toEqual([]);
  });

  it('takes a round ratio about a shared zero for two units of one value, though there is noise', async () => {
    const random = createRandom(6);
    const slow = wander(createRandom(8), 20);
    const source = { periodMs: 10, raw: (s: number) => 20 + 2_000 * at(slow, s) };
    const other = (scale: number, offset: number, noise = 2) => ({
      periodMs: 20,
      raw: (s: number) => offset + scale * (20 + 2_000 * at(slow, s)) + noise * random.normal(),
    });
    expect((await findIn([source, other(0.5, 0, 20)])).groups).toEqual([]);
    expect((await findIn([source, other(0.5, 0)])).groups).toHaveLength(1);
    expect((await findIn([source, other(0.5, 40)])).groups).toEqual([]);
    expect((await findIn([source, other(0.437, 0)])).groups).toEqual([]);
  });

  it('does not let a round ratio speak for what drifts, or is told from nothing by its noise', async () => {
    const random = createRandom(12);
    const slow = wander(createRandom(8), 20);
    const source = { periodMs: 10, raw: (s: number) => 200 + 2_000 * at(slow, s) };
    const other = (scale: number, noise: number, drift: number) => ({
      periodMs: 20,
      raw: (s: number) =>
        scale * (200 + 2_000 * at(slow, s)) + noise * random.normal() + drift * Math.cos((5 * Math.PI * s) / SECONDS),
    });
    expect((await findIn([source, other(0.5, 6, 5)])).groups).toEqual([]);
    expect((await findIn([source, other(0.5, 6, 0)])).groups).toHaveLength(1);
    expect((await findIn([source, other(0.01, 0.55, 0)])).groups).toEqual([]);
    expect((await findIn([source, other(0.01, 0.35, 0)])).groups).toHaveLength(1);
  });

  it('refuses what is left where it drifts, goes with how the value bends, or is more noise than a copy has', () => {
    const left = {
      unexplained: 0.001,
      rounding: 6,
      drifts: 0,
      filtered: 0,
      forgets: 1,
      apart: 0,
      jumps: 0,
      steps: 1,
      n: 500,
    };
    const isSaid = (part: Partial<typeof left>): boolean =>
      isSame({ number: { ...left, ...part }, turns: null } as unknown as Judged);
    expect(isSaid({})).toBe(true);
    expect(isSaid({ drifts: 0.2 })).toBe(false);
    expect(isSaid({ filtered: 0.3 })).toBe(false);
    expect(isSaid({ filtered: 0.3, rounding: 3 })).toBe(true);
    expect(isSaid({ unexplained: 0.015, rounding: 1.2 })).toBe(true);
    expect(isSaid({ unexplained: 0.015, rounding: 3 })).toBe(false);
    expect(isSaid({ apart: 0.05 })).toBe(false);
    expect(isSaid({ forgets: 0.1 })).toBe(false);
  });

  it('has not enough evidence where two only drift, though they correlate', async () => {
    const warming =
      (from: number, to: number, paceS: number) =>
      (s: number): number =>
        to + (from - to) * Math.exp(-s / paceS);
    const { groups, pairs } = await findIn([
      { periodMs: 100, raw: warming(20, 90, 60) },
      { periodMs: 100, raw: warming(30, 80, 75) },
      { periodMs: 100, raw: (s) => 500 + s },
      { periodMs: 100, raw: (s) => 9_000 + 2 * s },
    ]);
    expect(pairs).toBeGreaterThan(0);
    expect(groups).toEqual([]);
  });
});

describe('fields that turn at the same moments', () => {
  /** Turns at random moments. */
  function switching(seed: number, paceS: number): (atS: number) => number {
    const random = createRandom(seed);
    const turns: number[] = [];
    for (let s = 1; s < SECONDS; s += paceS * (0.3 - Math.log(1 - random.next()))) turns.push(s);
    return (atS) => turns.filter((s) => s <= atS).length % 2;
  }
  const lamp = switching(3, 6);

  it('links them with one lag, value to value, also complemented', async () => {
    const { groups } = await findIn(
      [
        { periodMs: 20, raw: lamp },
        { periodMs: 100, phaseMs: 11, raw: (s) => 3 - 2 * lamp(s - 0.3) },
      ],
      'flag',
    );
    expect(groups).toHaveLength(1);
    const member = groups[0]?.members[0];
    expect(groups[0]?.source.id).toBe('0x100');
    expect(member?.values).toEqual([
      [0, 3],
      [1, 1],
    ]);
    expect(Math.abs((member?.lagMs ?? 0) - 300)).toBeLessThan(40);
    expect(member?.follows).toBe(true);
    expect(member?.n).toBeGreaterThan(8);
  });

  it('does not link others, nor four turns that fall together', async () => {
    const wakes = (offS: number) => (s: number) => Number((s > 5 && s < 60) || (s > 70 && s < 110 + offS));
    const { groups } = await findIn(
      [
        { periodMs: 20, raw: lamp },
        { periodMs: 20, raw: switching(4, 6) },
        { periodMs: 20, raw: wakes(0) },
        { periodMs: 20, raw: wakes(0.01) },
      ],
      'flag',
    );
    expect(groups).toEqual([]);
  });

  it('does not take two that blink at one rate for one', async () => {
    const blink = (s: number): number => Math.floor(s / 0.7) % 2;
    const { groups } = await findIn(
      [
        { periodMs: 100, raw: blink },
        { periodMs: 100, raw: blink },
      ],
      'flag',
    );
    expect(groups).toEqual([]);
  });
});
