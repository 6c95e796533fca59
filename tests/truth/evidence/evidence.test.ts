/** The evidence simulator read back: what its truth says is held against the bytes that it sent, read here bit by bit. */
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { makeEvidenceDossier } from './make-dossier.ts';
import { makeEvidenceVehicle } from './make-evidence.ts';
import { fieldFor } from './truth-of.ts';
import type { TrueField } from './truth.ts';

/** [n] seconds and raw unsigned values of a field, from the payload's bits one after the other (bit addresses as the signal map has them). */
function readRaw(table: FrameTable, field: TrueField): { readonly atS: number; readonly raw: number }[] {
  const stream = table.streams.find(
    ({ bus, id, extended }) => bus === field.bus && id === Number(field.id) && extended === field.extended,
  );
  if (!stream) return [];
  return Array.from({ length: stream.count }, (_, row) => {
    let { byte, bit } = field.lsb;
    let raw = 0;
    for (let power = 0; power < field.length; power++) {
      raw += (((stream.payload[row * stream.stride + byte] as number) >> bit) & 1) * 2 ** power;
      if (++bit === 8) [byte, bit] = [field.order === 'little' ? byte + 1 : byte - 1, 0];
    }
    return { atS: (stream.timeUs[row] as number) / 1e6, raw };
  });
}

const SEEDS = ['read back 1', 'read back 2', 'read back 3'];

describe.each(SEEDS)('an evidence vehicle (%s)', (seed) => {
  const { table, truth } = makeEvidenceVehicle(seed, { recording: 'starts' });

  it('sends every planted step about when the truth says it came', () => {
    let [steps, told] = [0, 0];
    for (const { steps: planted } of truth.sequences)
      for (const step of planted) {
        const field = fieldFor(truth, step.signal);
        if (!field) continue;
        const rows = readRaw(table, field);
        for (const atS of step.atS) {
          if (atS === null) continue;
          const patienceS = 0.1 + (2.5 * field.periodMs) / 1000;
          steps++;
          if (
            rows.some(
              (row, k) => row.raw === step.to && rows[k - 1]?.raw === step.from && Math.abs(row.atS - atS) < patienceS,
            )
          )
            told++;
        }
      }
    expect(steps).toBeGreaterThan(20);
    expect(told / steps).toBeGreaterThanOrEqual(0.95);
  });
});

describe.each(SEEDS)('a drive of an evidence vehicle (%s)', (seed) => {
  const { table, truth } = makeEvidenceVehicle(seed);

  it('moves a direct signal at what was done, and none of them only at what never was', () => {
    const low: string[] = [];
    let judged = 0;
    for (const { action, sort, direct, doings } of truth.actions) {
      if (sort !== 'answered') {
        expect(direct).toEqual([]);
        continue;
      }
      if (doings.length === 0) continue;
      judged++;
      const series = direct.map((signal) => readRaw(table, fieldFor(truth, signal) as TrueField));
      const answered = doings.filter(({ startS }) =>
        series.some((rows) => {
          const near = rows.filter(({ atS }) => atS > startS - 0.3 && atS < startS + 2.5).map(({ raw }) => raw);
          return new Set(near).size > 1;
        }),
      );
      if (answered.length < 0.8 * doings.length) low.push(`${action}: ${answered.length} of ${doings.length}`);
    }
    expect(judged).toBeGreaterThanOrEqual(4);
    expect(low).toEqual([]);
  });
});

/** When a row differs from the one before. */
const changesOf = (rows: readonly { readonly atS: number; readonly raw: number }[]): number[] =>
  rows.filter((row, k) => k > 0 && row.raw !== rows[k - 1]?.raw).map(({ atS }) => atS);

/** What follows no sooner is a step of its own. */
const ALONE_S = 0.5;
/** The simulator's step, half of it either way. */
const ROUNDED_S = 0.005;

describe.each(SEEDS)('what answers a command of an evidence vehicle (%s)', (seed) => {
  const { table, truth } = makeEvidenceVehicle(seed);
  const echoes = truth.pairs.filter(({ role }) => role === 'echo');

  it('never shows it before it was on the bus', () => {
    let shown = 0;
    for (const { command, partner, lagS } of echoes) {
      const [asked, told] = [command, partner].map((signal) =>
        changesOf(readRaw(table, fieldFor(truth, signal) as TrueField)),
      ) as [number[], number[]];
      for (const atS of told) {
        const before = asked.filter((askedS) => askedS < atS && askedS > atS - ALONE_S);
        // Where several follow each other it is not known which one is shown.
        if (before.length > 1) continue;
        expect(atS - (before[0] ?? Infinity), `${partner} at ${atS}`).toBeGreaterThan((lagS as number) - ROUNDED_S);
        shown++;
      }
    }
    if (echoes.length > 0) expect(shown).toBeGreaterThan(0);
  });
});

describe('a dossier of short captures', () => {
  const { captures } = makeEvidenceDossier('read back');

  it('has twenty, each named after its action, and some in which nothing is done', () => {
    expect(captures).toHaveLength(20);
    expect(new Set(captures.map(({ name }) => name)).size).toBeGreaterThanOrEqual(19);
    for (const { name, action, table } of captures) {
      expect(name.startsWith(action ?? 'nothing')).toBe(true);
      expect(table.streams.length).toBeGreaterThan(10);
    }
    expect(captures.filter(({ action }) => action === null).length).toBeGreaterThan(0);
  });
});
