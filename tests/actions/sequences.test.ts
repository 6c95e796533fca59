import { describe, expect, it } from 'vitest';
import { findSequences } from '../../src/actions/sequences.ts';
import type { FieldStep, Mark, SequenceStep } from '../../src/actions/types.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { series, STEP_S, telegraph, worldOf, type WorldField } from './scenario.ts';

const SECONDS = 420;

interface Planted {
  readonly name: string;
  /** Value reached so long after the key turns, and again 0 when it is turned off. */
  readonly steps: readonly (readonly [afterS: number, value: number])[];
}

/** A pack that wakes as packs do: relays one after the other; invented. */
const PLANTED: readonly Planted[] = [
  { name: 'key seen', steps: [[0.05, 1]] },
  { name: 'negative relay', steps: [[0.35, 1]] },
  {
    name: 'pack state',
    steps: [
      [0.4, 1],
      [0.9, 2],
      [1.8, 3],
    ],
  },
  { name: 'ready lamp', steps: [[2.1, 1]] },
];

/** @param lampS how much later the ready lamp comes in each repetition; null: not at all */
function worldWith(random: Random, repetitions: number, reactionS: number, lampS: readonly (number | null)[] = []) {
  const onS = Array.from(
    { length: repetitions },
    (_, k) => 12 + (k * (SECONDS - 40)) / repetitions + 6 * random.next(),
  );
  const offS = onS.map((atS) => atS + 15 + 5 * random.next());
  const fields: WorldField[] = PLANTED.map(({ name, steps }) => {
    const values = series(SECONDS, () => 0);
    onS.forEach((atS, k) => {
      for (const [afterS, value] of steps) {
        const fromS = atS + afterS + 0.05 * random.next();
        const laterS = name === 'ready lamp' && k < lampS.length ? (lampS[k] as number | null) : 0;
        if (laterS === null) continue;
        values.fill(value, Math.round((fromS + laterS) / STEP_S), Math.round(((offS[k] as number) + 0.1) / STEP_S));
      }
    });
    return { name, values, periodS: 0.02, kind: 'states' };
  });
  const others = Array.from({ length: 60 }, (_, k): WorldField => ({
    name: `other ${k}`,
    values: telegraph(SECONDS, 4 + random.next() * 40, 2 + random.next() * 20, random),
    periodS: 0.05,
    kind: 'flag',
  }));
  const marks = onS.flatMap((atS, k): Mark[] => [
    { action: 'key turned', value: 'on', startS: atS + reactionS * random.normal(), endS: null },
    { action: 'key turned', value: 'off', startS: (offS[k] as number) + reactionS * random.normal(), endS: null },
  ]);
  return { ...worldOf([...fields, ...others], SECONDS, 5), marks: marks.sort((a, b) => a.startS - b.startS) };
}

/** How a module says "no data yet": so many ones for so long behind each waking. */
const FILLED_S = 0.3;

/**
 * A charger that is awake while the key is on. Its state (3 bits) reaches 2 a second and a half behind the waking, its lock (1 bit) holds one while its state is 2, its mode
 * (2 bits) is 3 for the first moment behind the waking, truly, and again for a moment now and then.
 */
function sleeperWorld(random: Random, repetitions: number, isFilled: boolean) {
  const world = worldWith(random, repetitions, 0.1);
  const timesOf = (value: string): number[] =>
    world.marks.flatMap((mark) => (mark.value === value ? [mark.startS] : []));
  const [onS, offS] = [timesOf('on'), timesOf('off')];
  const own = worldOf(
    ['charger', 'mode'].map((name) => ({ name, values: series(SECONDS, () => 0), periodS: 0.02 })),
    SECONDS,
    9,
  );
  const streams = own.table.streams.map((stream, k) => {
    const timeOf = (row: number): number => (stream.timeUs[row] as number) / 1e6;
    const wakeOf = (row: number): number =>
      onS.findIndex((atS, n) => timeOf(row) >= atS + 0.2 && timeOf(row) <= (offS[n] as number) + 1);
    const rows = [...stream.timeUs.keys()].filter((row) => wakeOf(row) >= 0);
    const payload = rows.flatMap((row) => {
      const sinceS = timeOf(row) - (onS[wakeOf(row)] as number) - 0.2;
      if (k === 1) return [sinceS < FILLED_S || (sinceS > 4 && sinceS < 4.5) ? 3 : 1, 0];
      if (isFilled && sinceS < FILLED_S) return [0x0f, 0];
      return [sinceS > 1.5 && timeOf(row) < (offS[wakeOf(row)] as number) ? 2 | 8 : 0, 0];
    });
    const timeUs = Float64Array.from(rows, (row) => stream.timeUs[row] as number);
    const index = world.table.streams.length + k;
    return { ...stream, id: 0x700 + k, index, count: rows.length, timeUs, payload: Uint8Array.from(payload) };
  });
  const findings = own.frames.map((frame, k) => {
    const [field] = frame.fields as [(typeof frame.fields)[number]];
    const placed = (name: string, bit: number, length: number) =>
      ({ ...field, name, lsb: { byte: 0, bit }, length, kind: length === 1 ? 'flag' : 'states' }) as typeof field;
    const fields = k === 1 ? [placed('mode', 0, 2)] : [placed('charger state', 0, 3), placed('lock', 3, 1)];
    return { ...frame, id: `0x70${k}`, fields };
  });
  return {
    ...world,
    table: { ...world.table, streams: [...world.table.streams, ...streams] },
    frames: [...world.frames, ...findings],
  };
}

const fieldSteps = (steps: readonly SequenceStep[] = []): FieldStep[] => steps.filter((step) => step.kind === 'field');

const told = async (world: ReturnType<typeof worldWith>, name: string) => {
  const all = await findSequences({ table: world.table, findings: world.frames, marks: world.marks }, {});
  return all.find((each) => each.name === name);
};

describe('what happens when the key turns', () => {
  it.each([4, 6, 10])(
    'is told step by step, in order, of %i repetitions beside sixty other flags',
    async (repetitions) => {
      let strangers = 0;
      for (const seed of ['a', 'b', 'c', 'd']) {
        const sequence = await told(
          worldWith(createRandom(1).fork(`${seed}${repetitions}`), repetitions, 0.15),
          'key turned: on',
        );
        const planted = fieldSteps(sequence?.steps).filter(({ field }) => !field.startsWith('other'));
        expect(planted.map(({ field, from, to }) => `${field} ${from} ${to}`)).toEqual([
          'key seen 0 1',
          'negative relay 0 1',
          'pack state 0 1',
          'pack state 1 2',
          'pack state 2 3',
          'ready lamp 0 1',
        ]);
        expect(planted.every(({ seen }) => seen === repetitions)).toBe(true);
        const [low, high] = planted.at(-1)?.delayMs ?? [0, 0];
        expect(low).toBeGreaterThan(1900);
        expect(high).toBeLessThan(2250);
        strangers += (sequence?.steps.length ?? 0) - planted.length;
      }
      expect(strangers).toBeLessThanOrEqual(2);
    },
  );

  it('says when each step came in each repetition, and where it did not come', async () => {
    const world = worldWith(createRandom(7).fork('times'), 6, 0.15);
    const alone = [...world.marks, { action: 'key turned', value: 'on', startS: SECONDS - 14, endS: null }];
    const sequence = await told({ ...world, marks: alone }, 'key turned: on');
    const turned = world.marks.filter(({ value }) => value === 'on').map(({ startS }) => startS);
    expect(sequence?.atS).toEqual([...turned, SECONDS - 14]);
    const steps = fieldSteps(sequence?.steps).filter(({ field }) => !field.startsWith('other'));
    expect(steps).toHaveLength(6);
    for (const { atS, seen } of steps) {
      expect(atS.filter((at) => at !== null)).toHaveLength(seen);
      expect(atS.at(-1)).toBeNull();
      turned.forEach((at, k) => expect(Math.abs((atS[k] ?? Number.NaN) - at)).toBeLessThan(3));
    }
    const [first, last] = [steps[0], steps.at(-1)];
    turned.forEach((_, k) => expect((last?.atS[k] ?? 0) - (first?.atS[k] ?? 0)).toBeCloseTo(2.05, 0));
  });

  it('counts apart where a step came late and where it stayed away', async () => {
    const lampS = [0, 6, 0, null, 0, 0, 5, 0, 0, 0];
    const world = worldWith(createRandom(9).fork('late'), lampS.length, 0.15, lampS);
    const sequence = await told(world, 'key turned: on');
    const lamp = fieldSteps(sequence?.steps).find(({ field }) => field === 'ready lamp');
    expect(lamp).toMatchObject({ seen: 7, late: 2 });
    expect(lamp?.atS.map((atS) => atS === null)).toEqual(lampS.map((each) => each !== 0));
    expect(fieldSteps(sequence?.steps).find(({ field }) => field === 'negative relay')).toMatchObject({
      seen: 10,
      late: 0,
    });
  });

  it('is told apart for each value of the marks', async () => {
    const sequence = await told(worldWith(createRandom(2).fork('off'), 6, 0.15), 'key turned: off');
    expect(
      fieldSteps(sequence?.steps)
        .map(({ field, to }) => `${field} ${to}`)
        .filter((text) => !text.startsWith('other'))
        .sort(),
    ).toEqual(['key seen 0', 'negative relay 0', 'pack state 0', 'ready lamp 0']);
  });

  it('is nothing where marks lie anywhere', async () => {
    let steps = 0;
    for (let world = 0; world < 12; world++) {
      const random = createRandom(3).fork(String(world));
      const { table, frames } = worldWith(random, 6, 0.15);
      const marks = Array.from({ length: 8 }, (): Mark => ({
        action: 'nothing',
        startS: 400 * random.next(),
        endS: null,
      }));
      const [sequence] = await findSequences({ table, findings: frames, marks }, {});
      steps += sequence?.steps.length ?? 0;
    }
    expect(steps).toBeLessThanOrEqual(2);
  });

  it('is said to be seen once where the key turned once', async () => {
    const sequence = await told(worldWith(createRandom(4).fork('once'), 1, 0.1), 'key turned: on');
    expect(sequence?.words).toContain('done once');
    expect(sequence?.steps.every(({ q, seen }) => q === null && seen === 1)).toBe(true);
    const planted = fieldSteps(sequence?.steps).filter(({ field }) => !field.startsWith('other'));
    expect(planted).toHaveLength(6);
    // Flags that change all the time say nothing of what was done once.
    expect((sequence?.steps.length ?? 0) - planted.length).toBeLessThanOrEqual(3);
  });

  it('has no place for a lamp that blinks while the key is on', async () => {
    const { table, frames, marks } = worldWith(createRandom(5).fork('lamp'), 6, 0.1);
    const onS = marks.filter(({ value }) => value === 'on').map(({ startS }) => startS);
    const blinks = series(SECONDS, (k) => {
      const sinceS = Math.min(...onS.filter((atS) => atS <= k * STEP_S).map((atS) => k * STEP_S - atS));
      return sinceS < 11 ? Math.floor(sinceS * 6) % 2 : 0;
    });
    const lamp = worldOf([{ name: 'lamp', values: blinks, periodS: 0.02, kind: 'flag' }], SECONDS, 6);
    const stream = {
      ...lamp.table.streams[0],
      id: 0x7a0,
      index: table.streams.length,
    } as (typeof table.streams)[number];
    const findings = [...frames, { ...lamp.frames[0], id: '0x7A0' } as (typeof frames)[number]];
    const all = await findSequences({ table: { ...table, streams: [...table.streams, stream] }, findings, marks }, {});
    const steps = fieldSteps(all.find(({ name }) => name === 'key turned: on')?.steps);
    expect(steps.filter(({ field }) => field === 'lamp')).toEqual([]);
    expect(steps.filter(({ field }) => field === 'ready lamp')).toHaveLength(1);
  });

  it('says a bit once that does the same on several pages', async () => {
    const { table, frames, marks } = worldWith(createRandom(6).fork('pages'), 6, 0.1);
    const [first] = frames;
    const pages = [0, 1].map((page) => ({ ...first?.fields[0], name: `page ${page}`, when: { page: [page] } }));
    const selector = {
      name: 'page',
      lsb: { byte: 1, bit: 0 },
      length: 1,
      order: 'little' as const,
      confidence: 1,
      when: null,
    };
    const paged = {
      ...first,
      selectors: [selector],
      fields: pages.map((field) => ({ ...field, length: 1 })),
    } as (typeof frames)[number];
    // The page bit turns frame by frame in the byte above the flag.
    const streams = table.streams.map((stream, index) =>
      index > 0
        ? stream
        : { ...stream, payload: stream.payload.map((byte, at) => (at % 2 === 1 ? (at >> 1) % 2 : byte)) },
    );
    const all = await findSequences({ table: { ...table, streams }, findings: [paged, ...frames.slice(1)], marks }, {});
    const steps = fieldSteps(all.find(({ name }) => name === 'key turned: on')?.steps);
    expect(steps.filter(({ field }) => field.startsWith('page'))).toHaveLength(1);
  });

  it('tells which sender begins and falls silent, its frames together, and what answers what', async () => {
    const random = createRandom(8).fork('senders');
    const { table, frames, marks } = worldWith(random, 6, 0.1);
    const timesOf = (value: string): number[] => marks.flatMap((mark) => (mark.value === value ? [mark.startS] : []));
    const [onS, offS] = [timesOf('on'), timesOf('off')];
    // The negative relay (300 ms behind the key) is asked 40 ms before by a flag of another sender; two frames sleep while the key is off.
    const asked = series(SECONDS, () => 0);
    const relay = frames.findIndex(({ fields }) => fields[0]?.name === 'negative relay');
    const relayStream = table.streams[relay] as (typeof table.streams)[number];
    const turns = [...relayStream.timeUs].filter(
      (_, k) => k > 0 && relayStream.payload[2 * k] !== relayStream.payload[2 * k - 2],
    );
    turns.forEach((us, k) => {
      if (k % 2 === 0)
        asked.fill(1, Math.floor(us / 1e6 / STEP_S) - 3, Math.floor((turns[k + 1] ?? Infinity) / 1e6 / STEP_S) - 3);
    });
    const extra = worldOf(
      [
        { name: 'close asked', values: asked, periodS: 0.02, kind: 'flag' },
        { name: 'pump', values: series(SECONDS, () => 3), periodS: 0.1 },
        { name: 'fan', values: series(SECONDS, () => 3), periodS: 0.2 },
      ],
      SECONDS,
      9,
    );
    const isAwake = (us: number): boolean =>
      onS.some((fromS, k) => us / 1e6 >= fromS + 0.3 && us / 1e6 <= (offS[k] ?? SECONDS) + 2.5);
    const streams = extra.table.streams.map((stream, k) => {
      const rows = [...stream.timeUs.keys()].filter((row) => k === 0 || isAwake(stream.timeUs[row] as number));
      const payload = Uint8Array.from(rows.flatMap((row) => [...stream.payload.subarray(row * 2, row * 2 + 2)]));
      const timeUs = Float64Array.from(rows, (row) => stream.timeUs[row] as number);
      return { ...stream, id: 0x700 + k, index: table.streams.length + k, count: rows.length, timeUs, payload };
    });
    const named = extra.frames.map((frame, k) => ({ ...frame, id: `0x70${k}` }));
    const senders = [...frames, ...named].map(({ bus, id, extended }) => ({
      ...{ bus, id, extended },
      group: id === '0x700' ? 'D' : id > '0x700' ? 'P' : 'B',
    }));
    const all = await findSequences(
      { table: { ...table, streams: [...table.streams, ...streams] }, findings: [...frames, ...named], marks, senders },
      {},
    );
    const sendersIn = (name: string) =>
      (all.find((each) => each.name === name)?.steps ?? []).filter((step) => step.kind !== 'field');
    const [wakes, ...more] = sendersIn('key turned: on');
    expect(more).toEqual([]);
    expect(wakes).toMatchObject({ kind: 'begins', seen: 6 });
    expect(wakes?.frames.map(({ id }) => id)).toEqual(['0x701', '0x702']);
    const [sleeps] = sendersIn('key turned: off');
    expect(sleeps).toMatchObject({ kind: 'falls-silent' });
    const steps = all.find(({ name }) => name === 'key turned: on')?.steps ?? [];
    const answer = fieldSteps(steps).find(({ field }) => field === 'negative relay')?.answers;
    expect(answer && fieldSteps([steps[answer.step] as SequenceStep])[0]?.field).toBe('close asked');
    expect(answer?.times).toBe(6);
    // The key itself is nobody's answer, and what only comes later each time is none either.
    expect(
      fieldSteps(steps)
        .filter(({ answers }) => answers !== null)
        .map(({ field }) => field),
    ).toEqual(['negative relay']);
  });

  it.each([2, 6])(
    'no step reaches or leaves what says "no data yet" behind each of %i wakings',
    async (repetitions) => {
      const stepsOf = async (isFilled: boolean): Promise<string[]> => {
        const random = createRandom(11).fork(`filled ${repetitions}`);
        const sequence = await told(sleeperWorld(random, repetitions, isFilled), 'key turned: on');
        return fieldSteps(sequence?.steps)
          .filter(({ field }) => ['charger state', 'lock'].includes(field))
          .map(
            ({ field, from, to, seen, delayMs: [low] }) =>
              `${field} ${from} ${to}, ${seen}, ${Math.round(low / 100) / 10} s`,
          );
      };
      const filled = await stepsOf(true);
      expect(filled.map((step) => step.split(',')[0])).toEqual(['charger state 0 2', 'lock 0 1']);
      expect(filled).toEqual(await stepsOf(false));
    },
  );

  it('a change over the silence is told when the first real value comes', async () => {
    const { table, frames, marks } = sleeperWorld(createRandom(11).fork('over'), 6, true);
    // Known at once behind the filling: 4 while it was asleep, 0 when it falls asleep.
    const streams = table.streams.map((stream) => {
      if (stream.id !== 0x700) return stream;
      const isLate = (row: number): boolean =>
        (stream.timeUs[row + 40] ?? Infinity) - (stream.timeUs[row] as number) > 3e6;
      const payload = stream.payload.map((byte, at) =>
        byte === 0x0f || at % 2 === 1 ? byte : isLate(at >> 1) ? 0 : 4,
      );
      return { ...stream, payload };
    });
    const all = await findSequences({ table: { ...table, streams }, findings: frames, marks }, {});
    const steps = all.find(({ name }) => name === 'key turned: on')?.steps ?? [];
    const own = fieldSteps(steps).filter(({ field }) => field === 'charger state');
    expect(own.map(({ from, to }) => [from, to])).toEqual([[0, 4]]);
    const begins = steps.find((step) => step.kind === 'begins' && step.id === '0x700');
    // Of the first waking nothing is known from before.
    expect(own[0]?.atS.map((atS) => atS === null)).toEqual([true, false, false, false, false, false]);
    own[0]?.atS.slice(1).forEach((atS, k) => expect((atS ?? 0) - (begins?.atS[k + 1] ?? 0)).toBeCloseTo(FILLED_S, 1));
  });

  it('a state that is all ones behind each waking and at other times is a state', async () => {
    const sequence = await told(sleeperWorld(createRandom(11).fork('true'), 6, true), 'key turned: on');
    const own = fieldSteps(sequence?.steps).filter(({ field }) => field === 'mode');
    const left = own.find(({ from, to }) => from === 3 && to === 1);
    expect(left?.seen).toBe(6);
    // The one behind the waking, not that of four seconds later.
    expect(left?.delayMs[1]).toBeLessThan(1500);
  });
});
