/** Links on a small world in which it is known what answers what. Field values are simulated, seeds are in the titles. */
import { describe, expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import type { ActionLinks, LinkReport, Mark, MarkFile } from '../../src/actions/types.ts';
import { Cancelled } from '../../src/kit/control.ts';
import { createRandom } from '../../src/kit/random.ts';
import * as world from './scenario.ts';

const DURATION_S = 400;
const CLOCK_S = 6.4;
const REACTION_S = 0.3;
const SEED = 5;

function scene(seed: number, originText = '0') {
  const random = createRandom(seed);
  const drive = world.driveOf(DURATION_S, random.fork('drive'));
  const brakes = world.randomSpans(20, DURATION_S - 20, [20, 50], [1, 3], random.fork('brakes')).slice(0, 7);
  const lamps = world.randomSpans(25, DURATION_S - 25, [25, 60], [10, 20], random.fork('lamps'));
  const gears = world.randomSpans(10, DURATION_S - 10, [15, 25], [2, 4], random.fork('gears'));
  const brake = world.flagOf(brakes, DURATION_S);
  const gear = new Float64Array(brake.length);
  const gearMarks: Mark[] = gears.map(({ startS }, i) => {
    const raw = [5, 9, 2][i % 3] as number;
    gear.fill(raw, Math.floor(startS / world.STEP_S));
    return {
      action: 'selector',
      startS: startS + REACTION_S - CLOCK_S,
      endS: null,
      value: ['D', 'R', 'N'][i % 3] as string,
    };
  });
  const fields: world.WorldField[] = [
    { name: 'pedal', periodS: 0.02, values: drive.pedal },
    { name: 'torque', periodS: 0.02, values: world.delayed(drive.torque, 0.1) },
    { name: 'speed', periodS: 0.05, values: drive.speed },
    { name: 'brake_flag', periodS: 0.05, kind: 'flag', values: brake },
    { name: 'brake_lamp', periodS: 0.1, kind: 'flag', values: world.delayed(brake, 0.16) },
    { name: 'lamps', periodS: 0.1, kind: 'flag', values: world.flagOf(lamps, DURATION_S) },
    { name: 'gear', periodS: 0.1, kind: 'states', values: gear },
    ...world.bystanders(40, DURATION_S, random.fork('others')),
  ];
  const hand = random.fork('hand');
  const pressed = drive.presses.filter((_, i) => i % 3 === 1).slice(0, 8);
  const toggles = lamps.flatMap(({ startS, endS }) => [startS, endS]);
  const marks: Mark[] = [
    ...world.markSpans('accelerator', pressed, CLOCK_S, hand, 0.1),
    ...world.markSpans('brake', brakes, CLOCK_S, hand),
    ...toggles.map((atS) => ({
      action: 'lamp switch',
      startS: atS + REACTION_S + 0.08 * hand.normal() - CLOCK_S,
      endS: null,
    })),
    ...gearMarks,
    ...world.markSpans('whistled', world.randomSpans(20, DURATION_S - 20, [30, 60], [1, 3], hand), CLOCK_S, hand),
  ];
  return { ...world.worldOf(fields, DURATION_S, seed, originText), marks };
}

const small = scene(SEED);
const run = (marks: MarkFile, offset: 'auto' | number = 'auto', seed = 1): Promise<LinkReport> =>
  linkFields({ table: small.table, findings: small.frames, marks, offset, seed }, {});
const capture = (marks: readonly Mark[]): MarkFile => ({ marks, timeBase: 'capture' });
const named = (report: LinkReport, action: string): ActionLinks => {
  const found = report.actions.find((one) => one.action === action);
  if (!found) throw new Error(`no action ${action}`);
  return found;
};
const sure = ({ links }: ActionLinks) => links.filter(({ q }) => q <= 0.05);

const report = await run(capture(small.marks));

describe(`links of a small world (seed ${SEED}, 47 fields, ${DURATION_S} s)`, () => {
  it('finds the clock offset, the mean reaction included, within its own error', () => {
    expect(report.clock.from).toBe('found');
    expect(Math.abs(report.clockOffsetS - (CLOCK_S - REACTION_S))).toBeLessThan(0.08);
    expect(report.clock.seS).toBeLessThan(0.05);
    expect(report.clock.curve?.offsetS.length).toBe(report.clock.curve?.agreement.length);
    expect(Math.max(...(report.clock.curve?.agreement ?? []))).toBeGreaterThan(report.clock.chance as number);
  });

  it('puts what was touched before what follows, with sign, size and lag', () => {
    const brake = sure(named(report, 'brake'));
    expect(brake[0]?.field).toBe('brake_flag');
    const onset = brake.find(({ field, direction }) => field === 'brake_flag' && direction === 'onset');
    const release = brake.find(({ field, direction }) => field === 'brake_flag' && direction === 'release');
    const lamp = brake.find(({ field, direction }) => field === 'brake_lamp' && direction === 'onset');
    expect(onset?.effect).toBeGreaterThan(0.8);
    expect(release?.effect).toBeLessThan(-0.8);
    expect(onset?.effectInterval[0]).toBeLessThanOrEqual(onset?.effect as number);
    expect(onset?.n).toBe(named(report, 'brake').marks);
    expect((lamp?.lagS as number) - (onset?.lagS as number)).toBeGreaterThan(0.1);
    expect((lamp?.lagS as number) - (onset?.lagS as number)).toBeLessThan(0.25);
    expect(sure(named(report, 'accelerator'))[0]?.field).toBe('pedal');
  });

  it('knows a switch that alternates by its changes', () => {
    const [first] = sure(named(report, 'lamp switch'));
    expect(first).toMatchObject({ field: 'lamps', direction: 'onset', alternating: true });
    expect(first?.effect).toBeGreaterThan(0.8);
  });

  it('pairs the values of the marks with the values of the field', () => {
    const [first] = sure(named(report, 'selector'));
    expect(first?.field).toBe('gear');
    const pairs = Object.fromEntries((first?.states ?? []).map(({ value, raw }) => [value, raw]));
    expect(pairs).toEqual({ D: 5, R: 9, N: 2 });
  });

  it('says so where nothing answers', () => {
    const nothing = named(report, 'whistled');
    expect(sure(nothing)).toEqual([]);
    expect(nothing.words).toMatch(/no field of this capture answers/);
    expect(nothing.words).toMatch(/a flag that else rests would have been found if it answered \d+ of \d+/);
    expect(nothing.links.every(({ p, q }) => q >= p)).toBe(true);
  });

  it('is the same for the same seed', async () => {
    expect(await run(capture(small.marks))).toEqual(report);
  });
});

describe('the offset', () => {
  it('may be given', async () => {
    const given = await run(capture(small.marks), CLOCK_S - REACTION_S);
    expect(given.clock).toMatchObject({ from: 'given', seS: null, curve: null, offsetS: CLOCK_S - REACTION_S });
    expect(sure(named(given, 'brake'))[0]?.field).toBe('brake_flag');
  });

  it('is not found where nothing stands out, and nothing is claimed', async () => {
    const lost = await run(capture(small.marks.filter(({ action }) => action === 'whistled')));
    expect(lost.clock.from).toBe('not-found');
    expect(lost.clock.words).toMatch(/no offset stands out/);
    expect(sure(named(lost, 'whistled'))).toEqual([]);
  });

  it('is found between epoch stamps, and across whole hours of a clock on local time', async () => {
    const origin = 1573220073.369233;
    const epoch = scene(SEED, '1573220073.369233');
    const shifted = (hours: number): MarkFile => ({
      timeBase: 'epoch',
      marks: epoch.marks.map((mark) => ({
        ...mark,
        startS: mark.startS + origin + hours * 3600,
        endS: mark.endS === null ? null : mark.endS + origin + hours * 3600,
      })),
    });
    for (const hours of [0, 2]) {
      const found = await linkFields(
        { table: epoch.table, findings: epoch.frames, marks: shifted(hours), offset: 'auto', seed: 1 },
        {},
      );
      expect(Math.abs(found.clockOffsetS + hours * 3600 - (CLOCK_S - REACTION_S))).toBeLessThan(0.08);
      expect(found.clock.words.includes('2 h')).toBe(hours === 2);
    }
  });

  it('is found for a clock that shares no zero with the capture', async () => {
    const elsewhere: MarkFile = {
      timeBase: 'epoch',
      marks: small.marks.map((mark) => ({
        ...mark,
        startS: mark.startS + 1.6e9,
        endS: mark.endS === null ? null : mark.endS + 1.6e9,
      })),
    };
    const found = await run(elsewhere);
    expect(found.clock.from).toBe('found');
    expect(Math.abs(found.clockOffsetS + 1.6e9 - (CLOCK_S - REACTION_S))).toBeLessThan(0.08);
  });
});

describe('too little to say', () => {
  it('says how many marks more would do', async () => {
    const two = small.marks.filter(({ action }) => action === 'whistled').slice(0, 2);
    const few = await run(capture(two), CLOCK_S - REACTION_S);
    expect(named(few, 'whistled').words).toMatch(/2 marks: 4 more would do/);
  });

  it('answers without marks, without time stamps and without fields', async () => {
    expect((await run(capture([]))).actions).toEqual([]);
    const timeless = { ...small.table, origin: { kind: 'none' as const, text: '0' } };
    const none = await linkFields(
      { table: timeless, findings: small.frames, marks: capture(small.marks), offset: 'auto', seed: 1 },
      {},
    );
    expect(none.clock.words).toMatch(/no time stamps/);
    const fieldless = await linkFields(
      { table: small.table, findings: [], marks: capture(small.marks), offset: 'auto', seed: 1 },
      {},
    );
    expect(fieldless.actions.every(({ links, tested }) => links.length === 0 && tested === 0)).toBe(true);
  });

  it('stops when asked to', async () => {
    let reports = 0;
    const signal = { aborted: false };
    const onProgress = (): void => {
      if (++reports === 5) signal.aborted = true;
    };
    const input = {
      table: small.table,
      findings: small.frames,
      marks: capture(small.marks),
      offset: 'auto' as const,
      seed: 1,
    };
    await expect(linkFields(input, { signal, onProgress })).rejects.toThrow(Cancelled);
    expect(reports).toBe(5);
  });
});
