import { describe, expect, it } from 'vitest';
import { tableOf } from '../../src/demo/recording/to-table.ts';
import { completeMap } from '../../src/demo/true-map.ts';
import { checkMap } from '../../src/map/check.ts';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import type { ProofAspect, ProofItem, ProofReport, ProofVerdict } from '../../src/proof/hold/types.ts';
import { carryMap } from '../../src/proof/merge/carry.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';
import { makeSample } from '../truth/support/vehicles.ts';

const place = (byte: number) => ({ lsb: { byte, bit: 0 }, length: 8 });
const signal = (byte: number, part: Partial<MapSignal> = {}): MapSignal =>
  aSignal({ ...place(byte), name: `s${byte}`, standing: 'proven', sending: 'proven', confidence: 0.9, ...part });
const other = { id: 'c1', title: 'the other van', files: [{ name: 'b.log', bytes: 2, sha256: 'b'.repeat(64) }] };
const item = (
  kind: ProofItem['item'],
  name: string,
  verdict: ProofVerdict,
  aspects?: readonly ProofAspect[],
): ProofItem => ({
  item: kind,
  name,
  verdict,
  rate: verdict === 'not-exercised' ? null : 1,
  n: 5,
  detail: `${name} ${verdict}`,
  moments: verdict === 'fails' ? [1.5] : [],
  ...(aspects ? { aspects } : {}),
});
const scaleHeld: readonly ProofAspect[] = [{ aspect: 'scale', verdict: 'holds', detail: '', figures: {} }];

const frame = aFrame({
  name: 'status',
  need: { verdict: 'not-required', how: 'bench' },
  timing: { kind: 'periodic', periodMs: 10, jitterMs: 0.1, timeoutMs: 50, timeoutFrom: 'bench' },
  counters: [aCounter({ ...place(6), name: 'alive', confidence: 0.99 })],
  checksums: [aChecksum({ ...place(7), method: 'xor', confidence: 0.98 })],
  selectors: [aSelector({ ...place(5), confidence: 0.97 })],
  signals: [signal(0, { unit: 'V' }), signal(1, { unit: 'V' }), signal(2), signal(3), signal(4)],
});
const away = aFrame({ id: '0x200', name: 'away', signals: [signal(0)] });
const map = aMap([frame, away], {
  captures: [{ id: 'c1', title: 'first', files: [{ name: 'a.log', bytes: 1, sha256: 'a'.repeat(64) }] }],
});
const report: ProofReport = {
  frames: [
    {
      bus: 'can0',
      id: '0x123',
      extended: false,
      name: 'status',
      verdict: 'fails',
      items: [
        item('presence', 'status', 'holds'),
        item('length', 'status', 'holds'),
        item('timing', 'status', 'fails'),
        item('counter', 'alive', 'holds'),
        item('checksum', 'byte 7', 'fails'),
        item('selector', 'page', 'not-exercised'),
        item('signal', 's0', 'holds', scaleHeld),
        item('signal', 's1', 'holds'),
        item('signal', 's2', 'fails'),
        item('signal', 's3', 'not-exercised'),
        item('signal', 's4', 'holds'),
      ],
    },
  ],
  buses: { can0: 'can0' },
  warnings: [],
};

describe('a map carried to another vehicle', () => {
  const carried = carryMap(map, report, other);
  const [first, second] = carried.map.frames as [MapFrame, MapFrame];

  it('keeps the standing of what holds, and of what has a unit only where the scale was tested', () => {
    expect(first.signals.map(({ standing }) => standing)).toEqual(['proven', 'supported', 'guess', 'guess', 'proven']);
    expect(first.signals.map(({ confidence }) => confidence)).toEqual([0.9, 0.9, 0.05, 0.5, 0.9]);
    expect(first.signals.map(({ evidence }) => evidence)).toEqual(
      [true, true, false, false, true].map((held) => (held ? [{ kind: 'proof', capture: 'c2', rate: 1, n: 5 }] : [])),
    );
    expect(first.counters[0]?.confidence).toBe(0.99);
    expect(first.checksums[0]?.confidence).toBe(0.05);
    expect(first.selectors[0]?.confidence).toBe(0.5);
  });

  it('keeps what is refused, with the moments and what it was', () => {
    expect(first.signals[2]?.['carried']).toEqual({
      capture: 'c2',
      verdict: 'fails',
      detail: 's2 fails',
      moments: [1.5],
      was: { standing: 'proven', sending: 'proven', confidence: 0.9 },
    });
  });

  it('takes no bench trial along, nor a frame that was never met', () => {
    expect(carried.map.frames.flatMap(({ signals }) => signals).every(({ sending }) => sending === 'untested')).toBe(
      true,
    );
    expect(first.need).toEqual({ verdict: 'untested', how: '' });
    expect(first.timing).toMatchObject({ timeoutMs: 50, timeoutFrom: 'guess' });
    expect(second.signals[0]).toMatchObject({ standing: 'guess', carried: { verdict: 'not-exercised' } });
  });

  it('tells what became of each item, and comes to the same when done twice', () => {
    expect(carried.changes.map(({ item: kind, verdict }) => `${kind} ${verdict}`)).toEqual([
      ...(report.frames[0]?.items ?? []).map(({ item: kind, verdict }) => `${kind} ${verdict}`),
      ...['presence', 'length', 'timing', 'signal'].map((kind) => `${kind} not-exercised`),
    ]);
    expect(carried.map.captures.map(({ id, title }) => `${id} ${title}`)).toEqual(['c1 first', 'c2 the other van']);
    expect(carryMap(carried.map, report, other).map).toEqual(carried.map);
  });

  it('can be written and read', () => {
    const again = parseMap(printMap(carried.map), 'carried');
    expect(again.ok && again.value).toEqual(carried.map);
  });
});

describe('simulated vehicles of one type', () => {
  it(
    'keeps what another drive shows, and refuses the counter whose step was changed',
    { timeout: 120_000 },
    async () => {
      const sample = makeSample('short', 20261130);
      const true_ = completeMap(sample.drive.recording, 'true', [], null);
      const guard = (each: MapFrame): boolean => each.counters.some(({ length }) => length >= 3);
      const target = true_.frames.find(guard) as MapFrame;
      const planted: SignalMap = {
        ...true_,
        frames: true_.frames.map((each) =>
          each === target ? { ...each, counters: each.counters.map((one) => ({ ...one, step: one.step + 1 })) } : each,
        ),
      };
      const there = makeSample('short', 20261130, { drive: 1 });
      const table = tableOf(there.drive.recording);
      const { map: onThat, changes } = carryMap(planted, await proveMap({ table, map: planted }), other);
      expect(checkMap(onThat).errors).toEqual(checkMap(planted).errors);
      const fails = changes.filter(({ verdict }) => verdict === 'fails');
      expect(fails.filter(({ item: kind }) => kind === 'counter').map(({ frame: { id } }) => id)).toContain(target.id);
      const carriedTarget = onThat.frames.find(({ bus, id }) => bus === target.bus && id === target.id) as MapFrame;
      expect(carriedTarget.counters.every(({ confidence }) => confidence <= 0.05)).toBe(true);
      const held = changes.filter(({ verdict }) => verdict === 'holds').length;
      expect(held / changes.filter(({ verdict }) => verdict !== 'not-exercised').length).toBeGreaterThan(0.9);
    },
  );
});
