/** Phases and exchanges in captures made here frame by frame: what must be told, and what must not. */
import { describe, expect, it } from 'vitest';
import { runSteps } from '../../../src/frames/pictures/steps.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { crowdOf, way } from '../../../src/handover/needs/observe/circular.ts';
import { observeNeeds } from '../../../src/handover/needs/observe/observe.ts';
import { commonPeriod } from '../../../src/handover/needs/observe/phases.ts';
import type { FrameSeen } from '../../../src/handover/needs/observe/types.ts';
import { toldEarly } from '../../../src/handover/needs/told-early.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { surveyTable } from '../../../src/timing/survey.ts';
import { tableOfLines, type LogLine } from '../../support/log-table.ts';

const hexByte = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');
const hexId = (id: number): string => id.toString(16).toUpperCase().padStart(3, '0');

interface Rhythm {
  readonly id: number;
  readonly periodMs: number;
  readonly phaseMs: number;
  readonly jitterMs?: number;
  /** How much faster than the others its clock runs. */
  readonly ppm?: number;
}

function linesOf({ id, periodMs, phaseMs, jitterMs = 0.05, ppm = 0 }: Rhythm, fromS: number, toS: number): LogLine[] {
  const random = createRandom(`rhythm ${id} ${fromS}`);
  const count = Math.floor((1000 * (toS - fromS) - phaseMs) / periodMs);
  return Array.from({ length: count }, (_, tick): LogLine => {
    const ms = (phaseMs + tick * periodMs) * (1 - ppm * 1e-6) - Math.log(1 - random.next()) * jitterMs;
    return [fromS + ms / 1000, hexId(id), `${hexByte(tick & 0xff)} 00 00 00`];
  });
}

const inOrder = (lines: readonly LogLine[]): LogLine[] => [...lines].sort((a, b) => a[0] - b[0]);

async function phasesOf(rhythms: readonly Rhythm[]): Promise<Map<number, FrameSeen>> {
  const lines = rhythms.flatMap((rhythm) => linesOf(rhythm, 0, 40));
  const table = await tableOfLines(inOrder(lines));
  const senders = rhythms.map(({ id }) => ({ bus: 'can0', id: `0x${hexId(id)}`, extended: false, group: 'A' }));
  const { frames } = runSteps(observeNeeds(table, { capture: 'c1', survey: surveyTable(table, {}), senders }));
  return new Map(frames.map((frame) => [Number(frame.id), frame]));
}

describe('phases', () => {
  it('are the ticks that a module sends at, counted from its slowest steady frame', async () => {
    const found = await phasesOf([
      { id: 0x100, periodMs: 10, phaseMs: 3 },
      { id: 0x200, periodMs: 20, phaseMs: 15 },
      { id: 0x300, periodMs: 100, phaseMs: 40 },
    ]);
    expect(found.get(0x300)?.phase).toMatchObject({ ms: 0 });
    // 3 - 40 is 3 of ten, 15 - 40 is 15 of twenty.
    expect(found.get(0x100)?.phase?.ms).toBeCloseTo(3, 0);
    expect(found.get(0x200)?.phase?.ms).toBeCloseTo(15, 0);
  });

  it('are not told of a frame whose clock is another one, nor does it spoil the others', async () => {
    const found = await phasesOf([
      { id: 0x100, periodMs: 10, phaseMs: 3 },
      { id: 0x200, periodMs: 20, phaseMs: 15 },
      { id: 0x250, periodMs: 50, phaseMs: 8 },
      { id: 0x300, periodMs: 100, phaseMs: 51, ppm: 150 },
    ]);
    expect(found.get(0x300)?.phase).toBeNull();
    expect(found.get(0x300)?.phaseWhy).not.toBe('');
    // 3 - 8 is 5 of ten, 15 - 8 is 7 of twenty.
    expect(found.get(0x250)?.phase).toMatchObject({ ms: 0 });
    expect(found.get(0x100)?.phase?.ms).toBeCloseTo(5, 0);
    expect(found.get(0x200)?.phase?.ms).toBeCloseTo(7, 0);
  });

  it('are not told without a known sender', async () => {
    const table = await tableOfLines(linesOf({ id: 0x100, periodMs: 10, phaseMs: 0 }, 0, 10));
    const { frames } = runSteps(observeNeeds(table, { capture: 'c1', survey: surveyTable(table, {}), senders: [] }));
    expect(frames[0]).toMatchObject({ phase: null, phaseWhy: 'its sender is not known' });
  });

  it('crowd on a circle: the middle may lie across its end', () => {
    const { middle, near } = crowdOf([9.8, 9.9, 0.1, 0.2, 5], 10);
    expect(Math.abs(way(0, middle, 10))).toBeLessThan(0.25);
    expect(near).toBeCloseTo(0.8);
  });

  it('need periods in a simple ratio', () => {
    expect(commonPeriod(20.001, 100.005)).toBeCloseTo(20.001, 6);
    expect(commonPeriod(20, 50)).toBeCloseTo(20, 6);
    expect(commonPeriod(20, 63.7)).toBeNull();
  });
});

const WAKINGS = [5, 40, 75, 110];

/** Four wakings, modules starting one after the other; `exchange` gives what comes after each. */
async function wakings(exchange: (waking: number, fromS: number) => readonly LogLine[]): Promise<FrameTable> {
  const rhythms = [10, 20, 50, 100, 100, 20];
  const lines = WAKINGS.flatMap((fromS, waking) => [
    ...rhythms.flatMap((periodMs, at) =>
      linesOf({ id: 0x100 + 16 * at, periodMs, phaseMs: 90 * at }, fromS, fromS + 20),
    ),
    ...exchange(waking, fromS),
  ]);
  return tableOfLines(inOrder(lines));
}

const told = (table: FrameTable): string[] => toldEarly(table, surveyTable(table, {})).map(({ kind }) => kind);
const randomBytes = (seed: string, count: number): string => {
  const random = createRandom(seed);
  return Array.from({ length: count }, () => hexByte(random.below(256))).join(' ');
};

describe('an exchange after each waking', () => {
  it('of random payloads looks like pairing, and names both', async () => {
    const table = await wakings((waking, fromS) => [
      [fromS + 0.61, '4A0', randomBytes(`challenge ${waking}`, 8)],
      [fromS + 0.64, '4B0', randomBytes(`answer ${waking}`, 8)],
    ]);
    const [found, ...others] = toldEarly(table, surveyTable(table, {}));
    expect(others).toEqual([]);
    expect(found).toMatchObject({ kind: 'pairing', frames: [{ id: '0x4A0' }, { id: '0x4B0' }] });
    expect(found?.says).toMatch(/after 4 of 4 wakings.*Keep .* together, with the key of the vehicle/);
  });

  it.each([
    [
      'counts on',
      (waking: number) => `00 00 01 ${hexByte(waking)} 10 ${hexByte(2 * waking)} 00 ${hexByte(3 * waking)}`,
    ],
    ['is the same each time', () => '12 34 56 78 9A BC DE F0'],
  ])('that %s is none', async (_, payload) => {
    const table = await wakings((waking, fromS) => [
      [fromS + 0.61, '4A0', payload(waking)],
      [fromS + 0.64, '4B0', payload(waking + 1)],
    ]);
    expect(told(table)).toEqual([]);
  });

  it('that nobody answers is none', async () => {
    expect(told(await wakings((waking, fromS) => [[fromS + 0.61, '4A0', randomBytes(`alone ${waking}`, 8)]]))).toEqual(
      [],
    );
  });
});

describe('security access (ISO 14229-1, service 27)', () => {
  const unlock = (answer: string): LogLine[] => [
    [1, '7E0', '02 27 01 00 00 00 00 00'],
    [1.01, '7E8', '06 67 01 A1 B2 C3 D4 00'],
    [1.1, '7E0', '06 27 02 11 22 33 44 00'],
    [1.11, '7E8', answer],
  ];

  it('is told where the key was taken, and not where it was refused', async () => {
    const taken = await tableOfLines(unlock('02 67 02 00 00 00 00 00'));
    const [found] = toldEarly(taken, surveyTable(taken, {}));
    expect(found).toMatchObject({ kind: 'unlock', frames: [{ id: '0x7E8' }] });
    const refused = await tableOfLines(unlock('03 7F 27 35 00 00 00 00'));
    expect(told(refused)).toEqual([]);
  });
});

it('names keyed tags with their sender', async () => {
  const table = await tableOfLines(linesOf({ id: 0x100, periodMs: 10, phaseMs: 0 }, 0, 10));
  const tag = { lsb: { byte: 4, bit: 0 }, length: 32, order: 'little' as const, method: 'mac' as const };
  const checksums = [{ ...tag, when: null, undetermined: [], confidence: 1 }];
  const [found] = toldEarly(table, surveyTable(table, {}), [{ bus: 'can0', id: '0x100', extended: false, checksums }]);
  expect(found?.kind).toBe('keyed-tag');
  expect(found?.says).toMatch(/0x100 carries a keyed tag.*Keep the sender of 0x100, which timing does not tell/);
});
