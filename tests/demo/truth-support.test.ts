import { describe, expect, it } from 'vitest';
import { ACTIONS } from '../../src/demo/script.ts';
import type { MapFrame } from '../../src/map/schema.ts';
import { observeSignals, keyOf } from '../truth/support/observed.ts';
import {
  claimsInNoise,
  f1Of,
  scoreChecksums,
  scoreFields,
  scoreGuards,
  type FoundFrame,
} from '../truth/support/score-fields.ts';
import { adjustedRandIndex, pairScore, trueGroups } from '../truth/support/score-groups.ts';
import { rankOfDirect, standingOf } from '../truth/support/score-links.ts';
import {
  captureTimeOf,
  exactMarks,
  idleMarks,
  makeSample,
  operatorMarks,
  referenceOf,
  seedsFor,
} from '../truth/support/vehicles.ts';

const shape = { durationS: 60, begins: 'ready', ends: 'ready' } as const;
const sample = makeSample('paged', 3, { shape });
const observed = observeSignals(sample.vehicle, sample.table);
const asFound = (map: MapFrame): FoundFrame => ({ ...map, fields: map.signals });
const perfect = sample.vehicle.map.frames.map(asFound);

describe('the scorecard helpers', () => {
  it('give the true map full marks', () => {
    const score = scoreFields(perfect, observed);
    expect(f1Of(score.spans)).toBe(1);
    expect(score.spans.right).toBeGreaterThan(80);
    expect(f1Of(score.paged)).toBe(1);
    expect(score.order.wrong + score.sign.wrong).toBe(0);
    expect(scoreGuards('selectors', perfect, sample.vehicle, sample.table)).toMatchObject({ wrong: 0, missed: 0 });
    expect(claimsInNoise(perfect, sample.vehicle)).toBe(0);
  });

  it('give true guards full marks, also on another drive, and tell keyed and odd tags', () => {
    const guarded = makeSample('guarded', 2, { shape });
    const other = makeSample('guarded', 2, { shape, drive: 1 });
    const found = guarded.vehicle.map.frames.map(asFound);
    const counters = scoreGuards('counters', found, guarded.vehicle, guarded.table);
    expect(counters).toMatchObject({ wrong: 0, missed: 0 });
    expect(counters.right).toBeGreaterThan(10);
    const checksums = scoreChecksums(found, guarded.vehicle, guarded.table, other.table);
    for (const tally of Object.values(checksums)) expect(tally).toMatchObject({ wrong: 0, missed: 0 });
    expect(checksums.verifies.right).toBeGreaterThan(10);
    expect(checksums.unsolved.right).toBeGreaterThan(0);
    const spoilt = found.map((frame) => ({
      ...frame,
      checksums: frame.checksums.map((each) => ({ ...each, init: '0x5A' })),
    }));
    expect(scoreChecksums(spoilt, guarded.vehicle, guarded.table, other.table).verifies.missed).toBeGreaterThan(10);
    expect(scoreGuards('counters', [], guarded.vehicle, guarded.table).missed).toBe(counters.right);
  });

  it('take marks off for a span one bit off, a wrong order, a wrong sign, a field of noise', () => {
    const spoil = (
      change: (signal: FoundFrame['fields'][number]) => Partial<FoundFrame['fields'][number]>,
    ): FoundFrame[] =>
      perfect.map((frame) => ({ ...frame, fields: frame.fields.map((signal) => ({ ...signal, ...change(signal) })) }));
    const shorter = scoreFields(
      spoil(({ length }) => ({ length: Math.max(1, length - 1), lsb: { byte: 0, bit: 0 } })),
      observed,
    );
    expect(f1Of(shorter.spans)).toBeLessThan(0.4);
    const signs = scoreFields(
      spoil(() => ({ coding: 'unsigned' })),
      observed,
    );
    expect(signs.sign.right).toBe(0);
    expect(signs.sign.wrong).toBeGreaterThan(0);
    expect(f1Of(signs.spans)).toBe(1);
    expect(scoreFields([], observed).spans).toMatchObject({ right: 0, wrong: 0 });
  });

  it('see only what moved: bits of a signal that stayed are not asked for', () => {
    for (const { moved, movedValid, span, signal } of observed) {
      expect(moved.length).toBeLessThanOrEqual(signal.length);
      expect(span.length).toBeGreaterThanOrEqual(moved.length);
      expect(movedValid.every((at) => moved.includes(at))).toBe(true);
    }
    expect(observed.some(({ moved, signal }) => moved.length > 0 && moved.length < signal.length)).toBe(true);
    expect(observed.some(({ wentNegative }) => wentNegative)).toBe(true);
  });

  it('know direct responders, downstream ones and strangers', () => {
    const link = (quantity: string): { bus: string; id: string; extended: boolean } & FoundFrame['fields'][number] => {
      const found = observed.find((each) => each.quantity === quantity && each.moved.length > 0);
      return {
        ...(found?.signal as FoundFrame['fields'][number]),
        bus: found?.bus ?? '',
        id: found?.id ?? '',
        extended: found?.extended ?? false,
      };
    };
    expect(standingOf(link('accelerator'), ACTIONS.accelerator, observed)).toBe('direct');
    expect(standingOf(link('torque'), ACTIONS.accelerator, observed)).toBe('downstream');
    expect(standingOf(link('wheel_speed_front_left'), ACTIONS.indicator, observed)).toBe('unrelated');
    expect(rankOfDirect([link('torque'), link('accelerator')], ACTIONS.accelerator, observed)).toBe(2);
    expect(rankOfDirect([link('torque')], ACTIONS.accelerator, observed)).toBeNull();
  });

  it('score groups: adjusted Rand index 0.24 for the worked partition (computed by hand from the formula)', () => {
    // {1,2,3}{4,5,6} against {1,2}{3,4}{5,6}: pairs together 2, rows 6, columns 3, all 15: (2 - 1.2) / (4.5 - 1.2) = 0.2424
    const labels = [
      ['a', 'x'],
      ['a', 'x'],
      ['a', 'y'],
      ['b', 'y'],
      ['b', 'z'],
      ['b', 'z'],
    ] as const;
    expect(adjustedRandIndex(labels)).toBeCloseTo(0.2424, 4);
    expect(pairScore(labels)).toEqual({ precision: 2 / 3, recall: 2 / 6 });
    const groups = [...trueGroups(sample.vehicle)].map(([, letter]) => [letter, letter] as const);
    expect(adjustedRandIndex(groups)).toBe(1);
    expect(new Set([...trueGroups(sample.vehicle).keys()]).size).toBe(groups.length);
  });

  it('give marks and references in the shapes of the finders, on the clocks they say', () => {
    const exact = exactMarks(sample);
    const first = sample.drive.script.actions[0];
    expect(exact.marks[0]?.startS).toBe(captureTimeOf(sample, first?.startS ?? 0));
    const seen = operatorMarks(sample, { aheadS: 5, missed: 0, extra: 0 });
    expect(seen.marks.length).toBe(exact.marks.length);
    const shift = (seen.marks[0]?.startS ?? 0) - sample.drive.recording.startEpochS - (first?.startS ?? 0);
    expect(shift).toBeGreaterThan(5.14);
    expect(shift).toBeLessThan(5.46);
    const idle = idleMarks(sample, 40, 1);
    expect(idle.marks.every(({ startS }) => startS > 0 && startS < sample.table.endUs / 1e6)).toBe(true);
    expect(referenceOf(sample).series.map(({ name }) => name)).toEqual([
      'satellite_speed',
      'pack_voltage',
      'pack_current',
    ]);
  });

  it('draw other seeds for another label and the same for the same', () => {
    expect(seedsFor('fields', 5)).toEqual(seedsFor('fields', 5));
    expect(seedsFor('fields', 5).seeds).not.toEqual(seedsFor('groups', 5).seeds);
    expect(keyOf({ bus: 'can0', id: '0x1', extended: false })).toBe('can0 0x1 false');
  });
});
