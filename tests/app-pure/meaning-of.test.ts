/** What the analysis of meaning says of one field: found by its place, and never said surer than it is. Common practice, no source. */
import { expect, test } from 'vitest';
import type { PlacedField } from '../../src/app/pictures/bands-words.ts';
import { freeName, namingOf, roleOf, sureWords } from '../../src/app/places/signals/meaning-of.ts';
import type { MeaningReport } from '../../src/draft/meaning.ts';

const place: PlacedField = {
  bus: 'can0',
  id: '0x0C2',
  extended: false,
  lsb: { byte: 2, bit: 0 },
  length: 12,
  order: 'big',
  when: null,
};
const reportOf = (role: string): MeaningReport =>
  ({ roles: { roles: [{ ...place, field: 'f', role, confidence: 0.91, reasons: [], why: '' }] } }) as never;

test('a part is that of the very field: same frame, place, order and page', () => {
  const report = reportOf('command');
  expect(roleOf(report, { ...place, id: '0xC2' })?.role).toBe('command');
  const others: readonly Partial<PlacedField>[] = [
    { bus: 'can1' },
    { extended: true },
    { length: 11 },
    { order: 'little' },
    { when: { page: [1] } },
  ];
  for (const other of others) expect(roleOf(report, { ...place, ...other })).toBeNull();
});

test('what nothing tells has no part', () => {
  expect(roleOf(reportOf('unknown'), place)).toBeNull();
  expect(roleOf(null, place)).toBeNull();
});

test('a confidence is cut, not rounded up', () => {
  expect([sureWords(0.996), sureWords(1), sureWords(0.2)]).toEqual(['99 % sure', '100 % sure', '20 % sure']);
});

test('a meaning is found by place, and its name is the first that is free', () => {
  const report = { naming: { fields: [{ ...place, field: 'f', candidates: [], why: '' }] } } as never;
  expect(namingOf(report, { ...place, id: '0xC2' })).not.toBeNull();
  expect(namingOf(report, { ...place, length: 3 })).toBeNull();
  expect(freeName('wheel speed', [])).toBe('wheel_speed');
  expect(freeName('wheel speed', ['wheel_speed', 'wheel_speed_2'])).toBe('wheel_speed_3');
});
