/** Which field readings belong to where what is left over does not decide: the same course twice, one copy of it late (seed 11). */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import type { Candidate } from '../../src/map/proposed-fields.ts';
import { fitDetail } from '../../src/reference/detail.ts';
import type { DetailedTrial } from '../../src/reference/detailed.ts';
import { layOnGrid } from '../../src/reference/field-grid.ts';
import { AS_GOOD_NATS, ranked } from '../../src/reference/ranking.ts';
import { bestShift } from '../../src/reference/shift.ts';

const LATE_S = 0.3;
const LENGTH_S = 120;
const random = createRandom(11);
const truth = (atS: number): number => 300 + 40 * Math.sin(atS / 3) + 20 * Math.sin(atS / 1.3);

const timeS = Float64Array.from({ length: 400 }, (_, i) => 5 + 0.27 * i);
const readings = { name: 'v', unit: 'V', timeS, value: timeS.map((atS) => truth(atS) + 4 * random.normal()) };

function copyOf(name: string, lateS: number): DetailedTrial {
  const timeUs = Float64Array.from({ length: LENGTH_S * 50 }, (_, i) => i * 20_000);
  const grid = layOnGrid(
    { timeUs, value: timeUs.map((us) => Math.round(truth(us / 1e6 - lateS))) },
    'unsigned',
    LENGTH_S,
  );
  const first = fitDetail(grid, readings, { shiftS: lateS, seS: 0.1 }, random);
  if (!first) throw new Error(`nothing to fit ${name} to`);
  const own = bestShift(grid, readings, lateS, first.line);
  const detail = fitDetail(grid, readings, own, random) ?? first;
  const candidate = { field: { name } } as Candidate;
  return { candidate, coding: 'unsigned', grid, series: readings, detail, own, overLags: null };
}

const [late, prompt] = [copyOf('late', LATE_S), copyOf('prompt', 0)];
const namesOf = (clock: Parameters<typeof ranked>[1]) =>
  ranked([late, prompt], clock).map(({ one, behind }) => ({ name: one.candidate.field.name, behind }));

describe('two copies of one course, one late', () => {
  it('are as good as each other where the readings’ clock is not known', () => {
    expect(namesOf(null)[1]?.behind).toBeLessThan(AS_GOOD_NATS);
  });

  it('are told apart by the clock: the one out of step with it is behind by the tail of a Cauchy', () => {
    const [first, second] = namesOf({ shiftS: 0, seS: 0.005 });
    expect(first?.name).toBe('prompt');
    // 0.3 s against half the time between quick frames, 15 ms, and errors of milliseconds: ln(1 + 20²) less what those take.
    expect(second?.behind).toBeGreaterThan(4);
    expect(second?.behind).toBeLessThan(Math.log(1 + (LATE_S / 0.015) ** 2) + AS_GOOD_NATS);
    expect(namesOf({ shiftS: LATE_S, seS: 0.005 })[0]?.name).toBe('late');
  });
});
