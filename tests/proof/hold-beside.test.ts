/** What readings, marks and physical laws say of a map's signals on another recording. */
import { describe, expect, it } from 'vitest';
import type { Mark } from '../../src/actions/types.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { Evidence, MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import type { ProofAspect, ProofInput, ProofItem } from '../../src/proof/hold/types.ts';
import type { ReferenceFile, ReferenceSeries } from '../../src/reference/types.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const SECONDS = 120;
const PERIOD_S = 0.02;

/** A winch's drum: turns up and down as a hand would, never twice the same. */
function drum(seed: string): (atS: number) => number {
  const random = createRandom(seed);
  const waves = Array.from({ length: 5 }, () => [random.between(0.15, 0.9), random.between(0, 6)] as const);
  return (atS) => Math.max(0, 900 + 250 * waves.reduce((sum, [rate, phase]) => sum + Math.sin(rate * atS + phase), 0));
}

const turns = drum('another day');
/** When the lamp is held on, every 9 s or so. */
const PRESSES = Array.from({ length: 11 }, (_, k) => 6 + 9.7 * k + ((k * 7) % 5) * 0.3);
const isLit = (atS: number): boolean => PRESSES.some((startS) => atS >= startS + 0.2 && atS < startS + 2.2);

/** Bytes 0 and 1: turns by 0.5 rpm. 2 to 7: three drums beside it by 1 rpm, one of them with slip; the lamp in bit 15 of the second. */
function frameAt(atS: number): PlainFrame[] {
  const data = new DataView(new ArrayBuffer(8));
  data.setUint16(0, Math.round(turns(atS) / 0.5), true);
  [1, 1.01, 0.99].forEach((slip, k) => data.setUint16(2 + 2 * k, Math.round(turns(atS) * slip), true));
  const lamp = Uint8Array.from([isLit(atS) ? 1 : 0, Math.floor(atS / 11) % 2]);
  const timeUs = Math.round(atS * 1e6);
  return [
    { bus: 'can0', id: 0x1c0, data: new Uint8Array(data.buffer), timeUs },
    { bus: 'can0', id: 0x1c4, data: lamp, timeUs: timeUs + 300 },
  ];
}

const table: FrameTable = buildTable(
  Array.from({ length: Math.floor(SECONDS / PERIOD_S) }, (_, k) => frameAt(k * PERIOD_S)).flat(),
);

const fitted: Evidence = { kind: 'fit', capture: 'c1', quantity: 'drum turns', unit: 'rpm' };
const speed = aSignal({
  name: 'drum_speed',
  lsb: { byte: 0, bit: 0 },
  length: 16,
  scale: 0.5,
  unit: 'rpm',
  observed: { min: 0, max: 2000 },
  evidence: [fitted],
});
const beside = [0, 1, 2].map((k) =>
  aSignal({ ...speed, name: `beside_${k}`, lsb: { byte: 2 + 2 * k, bit: 0 }, scale: 1, evidence: [] }),
);
const lamp = aSignal({ name: 'lamp', lsb: { byte: 0, bit: 0 }, length: 1, kind: 'flag' });
const other = aSignal({ name: 'other_lamp', lsb: { byte: 1, bit: 0 }, length: 1, kind: 'flag' });

const drumFrame = (signals: readonly MapSignal[]): MapFrame =>
  aFrame({
    id: '0x1C0',
    name: 'drum',
    timing: { kind: 'periodic', periodMs: 20, jitterMs: 0.1 },
    signals: [...signals],
  });
const lampFrame = (signals: readonly MapSignal[]): MapFrame =>
  aFrame({
    id: '0x1C4',
    name: 'lamps',
    length: 2,
    timing: { kind: 'periodic', periodMs: 20, jitterMs: 0.1 },
    signals: [...signals],
  });

async function signalsOf(map: SignalMap, more: Partial<ProofInput> = {}): Promise<Record<string, ProofItem>> {
  const { frames } = await proveMap({ table, map, ...more });
  const items = frames.flatMap((frame) => frame.items).filter(({ item }) => item === 'signal');
  return Object.fromEntries(items.map((item) => [item.name, item]));
}

const aspectOf = (item: ProofItem | undefined, kind: ProofAspect['aspect']): ProofAspect | undefined =>
  item?.aspects?.find(({ aspect }) => aspect === kind);

interface Meter {
  readonly everyS?: number;
  readonly fromS?: number;
  readonly toS?: number;
  readonly name?: string;
  readonly unit?: string;
  readonly gain?: number;
  readonly of?: (atS: number) => number;
  readonly noise?: number;
}

/** Readings on a clock that is 3.2 s ahead. */
function readings({
  everyS = 0.4,
  fromS = 1,
  toS = 118,
  name = 'drum turns',
  unit = 'rpm',
  gain = 1,
  of = turns,
  noise = 4,
}: Meter): ReferenceFile {
  const random = createRandom(`meter ${name}`);
  const times = Array.from({ length: Math.floor((toS - fromS) / everyS) }, (_, k) => fromS + k * everyS);
  const series: ReferenceSeries = {
    name,
    unit,
    timeS: Float64Array.from(times, (atS) => atS + 3.2),
    value: Float64Array.from(times, (atS) => (of(atS) + noise * random.normal()) * gain),
  };
  return { series: [series], timeBase: 'capture' };
}

const withSpeed = (part: Partial<MapSignal>): SignalMap => aMap([drumFrame([{ ...speed, ...part }])]);
const scaleBy = async (part: Partial<MapSignal>, meter: Meter, offset: 'auto' | number = 'auto') => {
  const items = await signalsOf(withSpeed(part), { reference: { file: readings(meter), offset } });
  return { item: items['drum_speed'], scale: aspectOf(items['drum_speed'], 'scale') };
};

describe('a scale, by readings of the same quantity', () => {
  it('holds with figures, whatever the clock of the readings', async () => {
    const { item, scale } = await scaleBy({}, {});
    expect(item?.verdict).toBe('holds');
    expect(scale?.verdict).toBe('holds');
    expect(scale?.figures['scaleRatio']).toBeCloseTo(1, 2);
    expect(scale?.figures['scaleRatioSe']).toBeLessThan(0.01);
  });

  it('is told in another unit of the same kind', async () => {
    // Exact by definition: 1 rpm is 2 pi radians in 60 s.
    const { scale } = await scaleBy({}, { unit: 'rad/s', gain: (2 * Math.PI) / 60 });
    expect(scale?.verdict).toBe('holds');
    expect(scale?.figures['scaleRatio']).toBeCloseTo(1, 2);
  });

  it.each([0.5, 0.9, 1.1, 2, 10, -1])('is refused times %s, with the moments', async (factor) => {
    const { item, scale } = await scaleBy({ scale: 0.5 * factor, observed: null }, {});
    expect(item?.verdict).toBe('fails');
    expect(scale?.figures['scaleRatio']).toBeCloseTo(1 / factor, 2);
    expect(item?.moments.length).toBeGreaterThan(0);
  });

  it('is refused where its zero is off', async () => {
    const { item, scale } = await scaleBy({ offset: 300, observed: null }, {});
    expect(item?.verdict).toBe('fails');
    expect(scale?.figures['offsetError']).toBeCloseTo(-300, -1);
  });

  it('is not exercised by a reference that rests, nor by another quantity, nor on a clock that nothing tells', async () => {
    const rests = await scaleBy({}, { of: () => 900, noise: 0.001 });
    expect(rests.scale).toMatchObject({ verdict: 'not-exercised' });
    expect(rests.scale?.detail).toContain('hardly changed');
    expect((await scaleBy({}, { name: 'oil pressure', unit: 'bar' })).scale).toBeUndefined();
    expect((await scaleBy({ evidence: [] }, { name: 'drum speed', unit: 'bar' })).scale).toBeUndefined();
    const elsewhere = await scaleBy({}, { of: drum('another winch') });
    expect(elsewhere.scale?.verdict).toBe('not-exercised');
    expect(elsewhere.item?.verdict).toBe('holds');
  });

  it('speaks of the signal of its name where the map knows no fit', async () => {
    const { scale } = await scaleBy({ evidence: [] }, { name: 'Drum speed' });
    expect(scale?.verdict).toBe('holds');
  });

  it('is never held by a display, which may show a tenth too much', async () => {
    const evidence: Evidence[] = [{ ...fitted, quantity: 'display speed' }];
    const { scale } = await scaleBy({ evidence, unit: 'km/h' }, { name: 'display speed', unit: 'km/h' });
    expect(scale?.verdict).toBe('not-exercised');
  });
});

describe('a physical law between signals', () => {
  const place = (signal: MapSignal) => ({ ...signal, part: 'speed', bus: 'can0', id: '0x1C0', extended: false });
  const alike = (signals: readonly MapSignal[]): MapSignal[] =>
    signals.map((signal) => {
      const listed = signals.filter((one) => one !== signal).map(place);
      const law: Evidence = {
        kind: 'cross-check',
        capture: 'c1',
        quantity: 'alike-speeds',
        part: 'speed',
        members: signals.length,
        listed,
      };
      return { ...signal, evidence: [law] };
    });
  const verdicts = async (signals: readonly MapSignal[]): Promise<(string | undefined)[]> => {
    const items = await signalsOf(aMap([drumFrame(signals)]));
    return beside.map(({ name }) => aspectOf(items[name], 'law')?.verdict);
  };

  it('holds, and tests the scales against each other', async () => {
    expect(await verdicts(alike(beside))).toEqual(['holds', 'holds', 'holds']);
  });

  it('refuses the one whose scale is off from the others, and no other', async () => {
    const off = beside.map((signal, k) => (k === 1 ? { ...signal, scale: 1.1, observed: null } : signal));
    expect(await verdicts(alike(off))).toEqual(['holds', 'fails', 'holds']);
  });

  it.each([1, -1])(
    'holds at a ratio of the same size, %s times as before: one of two speeds may lack the sign of the other',
    async (sign) => {
      const two = beside.slice(0, 2).map((signal, k, all): MapSignal => {
        const law: Evidence = {
          kind: 'cross-check',
          capture: 'c1',
          quantity: 'constant-ratio',
          part: 'speed',
          members: 2,
          ratio: sign * 1.01,
          listed: all.filter((_, other) => other !== k).map(place),
        };
        return { ...signal, evidence: [law] };
      });
      expect((await verdicts(two)).slice(0, 2)).toEqual(['holds', 'holds']);
    },
  );

  it('refuses no scale where the map claims none: raw numbers of sensors of unlike ranges are as alike', async () => {
    const raw = beside.map((signal, k) => ({
      ...signal,
      unit: '',
      observed: null,
      scale: k === 1 ? 1.1 : signal.scale,
    }));
    expect(await verdicts(alike(raw))).toEqual(['holds', 'holds', 'holds']);
  });
});

describe('an answer to an action', () => {
  const answered: Evidence = {
    kind: 'link',
    capture: 'c1',
    action: 'lamp',
    direction: 'level',
    effect: 1,
    effectSd: 9,
    lagS: 0.2,
    p: 1e-6,
    q: 1e-4,
    n: 12,
  };
  const marks = (times: readonly number[]) => ({
    file: {
      marks: times.map((startS): Mark => ({ action: 'lamp', startS, endS: startS + 2 })),
      timeBase: 'capture' as const,
    },
    offset: 0,
  });
  const map = aMap([lampFrame([lamp, other].map((signal) => ({ ...signal, evidence: [answered] })))]);

  it('holds where it answers here too; one that does not is refused with the moments, where others do', async () => {
    const items = await signalsOf(map, { marks: marks(PRESSES) });
    expect(aspectOf(items['lamp'], 'answer')?.verdict).toBe('holds');
    expect(aspectOf(items['other_lamp'], 'answer')?.verdict).toBe('fails');
    expect(items['other_lamp']?.moments.slice(0, 2)).toEqual(PRESSES.slice(0, 2));
  });

  it('is not asked for where it was done too few times', async () => {
    const items = await signalsOf(map, { marks: marks(PRESSES.slice(0, 3)) });
    expect(aspectOf(items['other_lamp'], 'answer')?.verdict).toBe('not-exercised');
  });
});
