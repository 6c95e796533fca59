/** Drift curves from readings whose clocks are known by construction: ahead is up, one clock is level, two are a ramp. */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import {
  driftPicture,
  residualAgainst,
  type ClockReadings,
  type Clocks,
} from '../../src/timing/senders/drift-picture.ts';

const WINDOWS = 32;
const LASTS_S = 320;
const middlesS = Float64Array.from({ length: WINDOWS }, (_, w) => ((w + 0.5) * LASTS_S) / WINDOWS);
const GROUPS: Record<string, string> = {
  '0x1': 'A',
  '0x2': 'A',
  '0x3': 'A',
  '0x4': 'B',
  '0x5': 'B',
  '0x6': 'C',
  '0x7': 'C',
};
const PPM: Record<string, number> = { A: 20, B: -30, C: 0 };
const groupOf = ({ id }: { id: string }): string | null => GROUPS[id] ?? null;

/** Behind its ticks by what the capture's clock does, by its own rate, by a start of its own, and by waits for the bus. */
function readings(id: string, ppm: number, noiseUs: number, holes: readonly number[] = []): ClockReadings {
  const random = createRandom(`drift ${id}`);
  const start = random.next() * 5000;
  const leastUs = middlesS.map((s, w) =>
    holes.includes(w) ? NaN : start - ppm * s + 40 * Math.sin(s / 50) + Math.abs(random.normal()) * noiseUs,
  );
  return { bus: 'can0', id, extended: false, leastUs };
}
const clocks = (noiseUs = 10): Clocks => ({
  middlesS,
  readings: [
    ...Object.keys(GROUPS).map((id) => readings(id, PPM[GROUPS[id] as string] as number, noiseUs)),
    readings('0x8', 20, noiseUs, [0, 1, 2, 3]),
  ],
});
const rise = (values: Float64Array): number => (values[WINDOWS - 1] as number) - (values[0] as number);
const between = (middlesS[WINDOWS - 1] as number) - (middlesS[0] as number);

describe('drift curves', () => {
  it('hold all clocks against the one in the middle: a fast one rises, by its rate', () => {
    const picture = driftPicture(clocks(), groupOf, null);
    expect(picture.reference).toBe('C');
    const rates = Object.fromEntries(picture.fans.map(({ group, aheadUs }) => [group, rise(aheadUs) / between]));
    expect(rates['A']).toBeCloseTo(20, 0);
    expect(rates['B']).toBeCloseTo(-30, 0);
    expect(rates['C']).toBeCloseTo(0, 6);
  });
  it('hold all against another where it is chosen; an unknown letter is passed over', () => {
    const picture = driftPicture(clocks(), groupOf, 'A');
    expect(rise(picture.fans.find(({ group }) => group === 'B')?.aheadUs as Float64Array) / between).toBeCloseTo(
      -50,
      0,
    );
    expect(driftPicture(clocks(), groupOf, 'Z').reference).toBe('C');
  });
  it('start at zero with the capture, and keep a fan together', () => {
    const { fans, lines } = driftPicture(clocks(), groupOf, null);
    for (const { group, aheadUs } of fans)
      expect(Math.abs((aheadUs[0] as number) - (PPM[group] as number) * 5)).toBeLessThan(60);
    const ofA = lines.filter(({ group }) => group === 'A').map(({ aheadUs }) => aheadUs);
    for (let w = 0; w < WINDOWS; w++) {
      const values = ofA.map((line) => line[w] as number);
      expect(Math.max(...values) - Math.min(...values)).toBeLessThan(60);
    }
  });
  it('leave a hole where nothing was heard', () => {
    const line = driftPicture(clocks(), groupOf, null).lines.find(({ id }) => id === '0x8');
    expect(line).toMatchObject({ group: null });
    expect([...(line?.aheadUs ?? [])].map(Number.isNaN).slice(0, 6)).toEqual([true, true, true, true, false, false]);
  });
  it('are empty where no group shows a clock', () => {
    expect(driftPicture({ middlesS, readings: [] }, groupOf, null)).toMatchObject({ reference: null, lines: [] });
  });
});

describe('one identifier against a group', () => {
  const of = (id: string, group: string, noiseUs = 10, stepUs = 1): ReturnType<typeof residualAgainst> =>
    residualAgainst(clocks(noiseUs), groupOf, { bus: 'can0', id, extended: false }, group, stepUs);
  it('is bounded against its own, itself left out', () => {
    const own = of('0x1', 'A');
    expect(own?.verdict).toBe('one clock');
    expect(Math.abs(own?.drift?.ppm ?? 9)).toBeLessThan(0.5);
    expect(own?.scatterUs).toBeLessThan(25);
  });
  it('is a ramp against another, by the difference of the rates', () => {
    const other = of('0x1', 'B');
    expect(other?.verdict).toBe('two clocks');
    expect(other?.drift?.ppm).toBeCloseTo(50, 0);
  });
  it('tells of one without a group whose clock it keeps', () => {
    expect(of('0x8', 'A')?.verdict).toBe('one clock');
    expect(of('0x8', 'C')?.verdict).toBe('two clocks');
  });
  it('cannot tell where windows scatter by milliseconds, nor from a few windows', () => {
    expect(of('0x1', 'A', 8000)?.verdict).toBe('cannot tell');
    const few: Clocks = {
      middlesS,
      readings: [readings('0x1', 20, 10, [...Array(28).keys()]), ...['0x2', '0x3'].map((id) => readings(id, 20, 10))],
    };
    expect(residualAgainst(few, groupOf, { bus: 'can0', id: '0x1', extended: false }, 'A', 1)).toMatchObject({
      verdict: 'cannot tell',
      drift: null,
      windows: 4,
    });
  });
  it('is never called one clock where the step of the stamps could hide another; two may still part', () => {
    expect(of('0x1', 'A', 10, 10_000)?.verdict).toBe('cannot tell');
    expect(of('0x1', 'B', 10, 1000)?.verdict).toBe('two clocks');
  });
  it('is nothing against a group of itself alone', () => {
    const alone: Clocks = { middlesS, readings: [readings('0x1', 20, 10)] };
    expect(residualAgainst(alone, groupOf, { bus: 'can0', id: '0x1', extended: false }, 'A', 1)).toBeNull();
  });
});
