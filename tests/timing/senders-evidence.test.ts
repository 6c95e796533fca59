/**
 * What speaks for one module beside its clock, on captures whose senders are known: common starts and stops, counters that begin anew
 * together, guards that few others have. That modules boot tens to hundreds of milliseconds apart is common practice, no source.
 */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { ClockReading } from '../../src/timing/senders/clock-reading.ts';
import { groupSenders, type Senders } from '../../src/timing/senders/groups.ts';
import { besideClocks } from '../../src/timing/senders/shared-moments.ts';
import { busOrders } from '../../src/timing/survey.ts';
import { surveyStream } from '../../src/timing/survey-row.ts';

interface Module {
  readonly ids: readonly number[];
  readonly skewPpm: number;
  /** From a wake-up to its first frame, and from the call to sleep to its last, microseconds. */
  readonly bootUs: number;
  readonly lingerUs: number;
}

const PERIODS_US = [10_000, 20_000, 20_000, 50_000];

/** Stretches in which the vehicle is awake, seconds. */
type Awake = readonly (readonly [fromS: number, toS: number])[];

/** Tasks of one module begin with it, each on its own period; frames wait for up to 250 us. */
function framesOf({ ids, skewPpm, bootUs, lingerUs }: Module, awake: Awake, resets: Awake): PlainFrame[] {
  const random = createRandom(`module ${ids.join()}`);
  const rate = 1 - skewPpm * 1e-6;
  const spans = awake.flatMap(([fromS, toS]) => {
    const cuts = resets.filter(([reset]) => reset > fromS && reset < toS);
    const edges = [fromS * 1e6 + bootUs, ...cuts.flatMap(([from, to]) => [from * 1e6, to * 1e6]), toS * 1e6 + lingerUs];
    return Array.from({ length: edges.length / 2 }, (_, i) => [edges[2 * i], edges[2 * i + 1]] as [number, number]);
  });
  return ids.flatMap((id, place) => {
    const periodUs = PERIODS_US[place % PERIODS_US.length] as number;
    const phaseUs = random.next() * 3000;
    return spans.flatMap(([fromUs, toUs]) =>
      Array.from({ length: Math.ceil((toUs - fromUs) / periodUs) }, (_, tick): PlainFrame => {
        const timeUs = fromUs + phaseUs + tick * periodUs * rate + Math.abs(random.normal()) * 20 + random.next() * 250;
        return { timeUs, bus: 'can0', id, data: [tick & 15, (tick >> 3) & 3, id & 255, 0x5a] };
      }),
    );
  });
}

interface Given {
  readonly awake: Awake;
  readonly stepUs?: number;
  readonly resets?: readonly Awake[];
  /** When the logger recorded nothing. */
  readonly unrecorded?: Awake;
}

function record(modules: readonly Module[], { awake, stepUs = 1, resets, unrecorded = [] }: Given): FrameTable {
  const frames = modules
    .flatMap((module, place) => framesOf(module, awake, resets?.[place] ?? []))
    .filter(({ timeUs }) => !unrecorded.some(([fromS, toS]) => timeUs >= fromS * 1e6 && timeUs < toS * 1e6))
    .map((frame) => ({ ...frame, timeUs: Math.floor(frame.timeUs / stepUs) * stepUs }))
    .sort((a, b) => a.timeUs - b.timeUs);
  return buildTable(frames, { kind: 'epoch', text: '1773043272.000000' });
}

function sendersOf(table: FrameTable, stepUs: number, hints?: ReadonlyMap<string, string>): Senders {
  const orders = runSteps(busOrders(table));
  const gaps = orders[0]?.gaps ?? [];
  const rows = table.streams.map((stream) => runSteps(surveyStream(table, stream, gaps)));
  const pausesUs = new Map([['can0', gaps.map(({ fromS }) => fromS * 1e6)]]);
  return runSteps(groupSenders(table, rows, { stepUs, endUs: table.endUs, pausesUs, clockOf: new Map() }, hints));
}

const groupsOf = ({ groups }: Senders): number[][] =>
  groups.map(({ members }) => members.map(({ stream }) => stream.id).sort((a, b) => a - b)).sort();

const module = (first: number, skewPpm: number, bootMs: number, lingerMs: number): Module => ({
  ids: [first, first + 1, first + 2, first + 3],
  skewPpm,
  bootUs: bootMs * 1000,
  lingerUs: lingerMs * 1000,
});

const MODULES = [module(0x100, 0, 60, 40), module(0x200, 1, 210, 170), module(0x300, 2, 340, 420)];

const AWAKE: Awake = [
  [0, 35],
  [40, 75],
];

/** Identifiers in groups, and groups that are not of one module. */
function judge(senders: Senders): { readonly grouped: number; readonly mixed: number } {
  const groups = groupsOf(senders);
  const mixed = groups.filter((ids) => new Set(ids.map((id) => id >> 8)).size > 1).length;
  return { grouped: groups.flat().length, mixed };
}

const surest = ({ streams }: Senders): number => Math.max(0, ...streams.map(({ confidence }) => confidence ?? 0));

describe('clocks a part per million apart, awake twice for 35 s', () => {
  const alike = MODULES.map((own) => ({ ...own, bootUs: 60_000, lingerUs: 40_000 }));

  it.each([1, 1000])('are told apart by when they begin and stop, stamps of %i us', (stepUs) => {
    const told = judge(sendersOf(record(MODULES, { awake: AWAKE, stepUs }), stepUs));
    expect(told.mixed).toBe(0);
    expect(told.grouped).toBeGreaterThanOrEqual(9);
  });

  it.each([1, 1000])('are not where all begin and stop at one moment, stamps of %i us', (stepUs) => {
    expect(judge(sendersOf(record(alike, { awake: AWAKE, stepUs }), stepUs)).grouped).toBeLessThanOrEqual(4);
  });

  it('say with figures that moments decided, and what clocks alone would give', () => {
    const { streams } = sendersOf(record(MODULES, { awake: AWAKE }), 1);
    const told = streams.filter(({ group, why }) => group !== null && / than by clocks alone, 0\.\d\d;/.test(why));
    expect(told.length).toBeGreaterThanOrEqual(9);
    for (const { why } of told) {
      expect(why).toMatch(/^keeps time with the [123] others of its group; it begins with [123] of the [123] others,/);
      expect(why).toMatch(/on up to 2 occasions; stops with [123] of the [123] others/);
    }
  });

  it.each([
    ['all begin and stop alike', alike, AWAKE],
    ['nothing begins or stops', MODULES.map((own) => ({ ...own, skewPpm: 30 * own.skewPpm })), [[0, 120]] as Awake],
  ])('say nothing of moments where %s', (_, modules, awake) => {
    const { streams } = sendersOf(record(modules, { awake, unrecorded: [[0, 1]] }), 1);
    for (const { why } of streams) expect(why).not.toMatch(/clocks alone/);
  });

  it('make nobody sure by moments alone', () => {
    expect(surest(sendersOf(record(MODULES, { awake: AWAKE, stepUs: 1000 }), 1000))).toBeLessThan(0.9);
  });
});

describe('evidence beside clocks', () => {
  const UNINTERRUPTED: Awake = [[0, 75]];
  /** The logger was switched on and off amid traffic. */
  const EDGES: Awake = [
    [0, 3],
    [73, 99],
  ];

  /** [12 * 12] */
  function evidenceOf(table: FrameTable, restarts?: ReadonlyMap<Stream, Int32Array>): Float64Array {
    const gaps = runSteps(busOrders(table))[0]?.gaps ?? [];
    const pausesUs = new Map([['can0', gaps.map(({ fromS }) => fromS * 1e6)]]);
    const readings = table.streams.map((stream) => {
      const nominalUs = PERIODS_US[stream.id & 15] as number;
      return { stream, track: { nominalUs } } as ClockReading;
    });
    const recorded = { stepUs: 1, endUs: table.endUs, clockOf: new Map<string, number>(), pausesUs };
    return runSteps(besideClocks(readings, restarts ? { ...recorded, restarts } : recorded)).evidence;
  }

  /** Of pairs of one module, and of two. */
  function sorted(
    { streams }: FrameTable,
    evidence: Float64Array,
  ): { readonly own: number[]; readonly foreign: number[] } {
    const [own, foreign]: [number[], number[]] = [[], []];
    streams.forEach((one, a) =>
      streams.forEach((other, b) => {
        if (a < b) (one.id >> 8 === other.id >> 8 ? own : foreign).push(evidence[a * streams.length + b] as number);
      }),
    );
    return { own, foreign };
  }

  it('speaks for all of one module and against two that boot apart, within its bounds', () => {
    const table = record(MODULES, { awake: AWAKE });
    const { own, foreign } = sorted(table, evidenceOf(table));
    expect(Math.min(...own)).toBeGreaterThan(0.5);
    expect(Math.max(...own)).toBeLessThanOrEqual(4);
    expect(Math.max(...foreign)).toBeLessThan(0);
    expect(Math.min(...foreign)).toBeGreaterThanOrEqual(-2);
  });

  it('is nothing after pauses of the logger, and where it begins and ends amid traffic', () => {
    const pauses: Awake = [
      [20, 21.5],
      [33, 38.2],
      [60, 60.4],
    ];
    const table = record(MODULES, { awake: UNINTERRUPTED, unrecorded: [...EDGES, ...pauses] });
    expect(runSteps(busOrders(table))[0]?.gaps).toHaveLength(pauses.length);
    expect([...evidenceOf(table)].filter((ratio) => ratio !== 0)).toEqual([]);
  });

  it('sees the reset of one module while the others send on', () => {
    const reset: Awake = [[30, 31.2]];
    const table = record(MODULES, { awake: UNINTERRUPTED, unrecorded: EDGES, resets: [[], reset, []] });
    const evidence = evidenceOf(table);
    const place = (id: number): number => table.streams.findIndex((stream) => stream.id === id);
    const between = (a: number, b: number): number => evidence[place(a) * table.streams.length + place(b)] as number;
    expect(between(0x200, 0x201)).toBeGreaterThan(1);
    expect(between(0x200, 0x300)).toBeLessThan(-1);
    expect(between(0x100, 0x300)).toBe(0);
  });

  it('sees counters of one module begin anew without a gap', () => {
    const table = record(MODULES, { awake: UNINTERRUPTED, unrecorded: EDGES });
    const restarts = table.streams.map((stream): [Stream, Int32Array] => {
      const row = stream.timeUs.findIndex((us) => us >= 30e6);
      return [stream, Int32Array.from(stream.id >> 8 === 2 ? [row] : [])];
    });
    const { own, foreign } = sorted(table, evidenceOf(table, new Map(restarts)));
    expect(own.filter((ratio) => ratio > 0.5)).toHaveLength(6);
    expect(foreign.filter((ratio) => ratio < -1)).toHaveLength(32);
    const none = sorted(table, evidenceOf(table));
    expect([...none.own, ...none.foreign].filter((ratio) => ratio !== 0)).toEqual([]);
  });
});

describe('guard parameters', () => {
  const key = (id: number): string => `can0/0x${id.toString(16)}/false`;
  const hintsFor = (rare: readonly number[], modules: readonly Module[]): Map<string, string> =>
    new Map(
      modules.flatMap(({ ids }) =>
        ids.map((id): [string, string] => [key(id), rare.includes(id) ? '0x9b 0x3c' : `0x1d ${id}`]),
      ),
    );

  it('that two identifiers alone have join them where clocks leave it open', () => {
    const close = [module(0x100, 0, 0, 0), module(0x200, 6, 3, 0)];
    const table = record(close, { awake: [[0, 90]], stepUs: 1000 });
    const joined = (hints?: ReadonlyMap<string, string>): number[][] => groupsOf(sendersOf(table, 1000, hints));
    expect(joined()).toEqual([]);
    expect(joined(hintsFor([0x100, 0x101], close))).toEqual([[0x100, 0x101]]);
    expect(
      joined(
        hintsFor(
          close.flatMap(({ ids }) => ids),
          close,
        ),
      ),
    ).toEqual([]);
  });

  it('never join two clocks that are clearly two', () => {
    const far = [module(0x100, 0, 0, 0), module(0x200, 40, 3, 0)];
    const table = record(far, { awake: [[0, 120]] });
    const all = far.map(({ ids }) => [...ids]);
    expect(groupsOf(sendersOf(table, 1, hintsFor([0x100, 0x200], far)))).toEqual(all);
    expect(groupsOf(sendersOf(table, 1, hintsFor(all.flat(), far)))).toEqual(all);
  });
});
