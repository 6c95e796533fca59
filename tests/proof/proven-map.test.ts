/** What a map says after a capture proved it. */
import { describe, expect, it } from 'vitest';
import type { MapSignal, SignalMap } from '../../src/map/schema.ts';
import { withProof } from '../../src/proof/hold/proven-map.ts';
import type { ProofAspect, ProofItem, ProofReport, ProofVerdict } from '../../src/proof/hold/types.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const plain = aSignal({ name: 'turns', lsb: { byte: 0, bit: 0 }, length: 8, observed: { min: 0, max: 200 } });
const speed = { ...plain, name: 'speed', lsb: { byte: 1, bit: 0 }, unit: 'rpm' };
const state: MapSignal = {
  ...plain,
  name: 'state',
  lsb: { byte: 2, bit: 0 },
  kind: 'states',
  states: { '0': 'off', '1': 'on' },
};
const map = aMap([aFrame({ signals: [plain, speed, state] })], {
  captures: [{ id: 'c1', title: 'first', files: [] }],
});

const aspect = (
  kind: ProofAspect['aspect'],
  verdict: ProofVerdict,
  figures: Record<string, number> = {},
): ProofAspect => ({
  aspect: kind,
  verdict,
  detail: '',
  figures,
});
const item = (name: string, verdict: ProofVerdict, aspects: ProofAspect[]): ProofItem => ({
  item: 'signal',
  name,
  verdict,
  rate: 1,
  n: 500,
  detail: '',
  moments: [],
  aspects,
});

function report(items: ProofItem[], warnings: ProofReport['warnings'] = []): ProofReport {
  const frames = [{ bus: 'can0', id: '0x123', extended: false, name: 'frame_123', verdict: 'holds' as const, items }];
  return { frames, buses: { can0: 'can0' }, warnings };
}

const place = aspect('place', 'holds', { changes: 90, distinct: 40 });
const range = (covered: number): ProofAspect => aspect('values', 'holds', { covered });
const capture = { title: 'second', files: [{ name: 'b.log', bytes: 9, sha256: 'cd' }] };
const signalsOf = (of: SignalMap): Record<string, MapSignal> =>
  Object.fromEntries((of.frames[0]?.signals ?? []).map((signal) => [signal.name, signal]));
const after = (items: ProofItem[], of: SignalMap = map) => withProof(of, report(items), capture);

describe('a map with its proof', () => {
  it('has proven what held over its range, by which capture and with figures', () => {
    const proved = after([item('turns', 'holds', [place, range(0.8)])]);
    expect(proved).toMatchObject({ proven: 1, scaleUntested: 0, refused: 0 });
    expect(proved?.map.captures.map(({ id, title }) => [id, title])).toEqual([
      ['c1', 'first'],
      ['c2', 'second'],
    ]);
    const { turns } = signalsOf((proved as { map: SignalMap }).map);
    expect(turns?.standing).toBe('proven');
    expect(turns?.sending).toBe('untested');
    expect(turns?.evidence).toEqual([
      {
        kind: 'proof',
        capture: 'c2',
        verdict: 'holds',
        n: 500,
        held: ['place', 'values'],
        changes: 90,
        distinct: 40,
        covered: 0.8,
      },
    ]);
  });

  it('does not call a number with a unit proven whose scale nothing tested', () => {
    const open = after([item('speed', 'holds', [place, range(0.9)])]);
    expect(open).toMatchObject({ proven: 0, scaleUntested: 1 });
    expect(signalsOf((open as { map: SignalMap }).map)['speed']?.standing).toBe('guess');
    expect(signalsOf((open as { map: SignalMap }).map)['speed']?.evidence).toEqual([]);
    const tested = after([item('speed', 'holds', [place, range(0.9), aspect('scale', 'holds')])]);
    expect(tested).toMatchObject({ proven: 1 });
  });

  it('leaves what was hardly moved, or not exercised, as it was', () => {
    const little = item('turns', 'holds', [place, range(0.2)]);
    const few = item('state', 'holds', [aspect('place', 'holds', { changes: 1 }), aspect('values', 'holds')]);
    const none = item('speed', 'not-exercised', [aspect('place', 'not-exercised')]);
    const proved = after([little, few, none]);
    expect(proved).toMatchObject({ proven: 0, scaleUntested: 0, refused: 0 });
    expect(proved?.map.frames).toEqual(map.frames);
  });

  it('takes the standing from what fails, and says so', () => {
    const before = aMap([aFrame({ signals: [{ ...plain, standing: 'proven' }] })]);
    const proved = after([item('turns', 'fails', [aspect('place', 'fails', { apart: 9 })])], before);
    expect(proved).toMatchObject({ proven: 0, refused: 1 });
    const { turns } = signalsOf((proved as { map: SignalMap }).map);
    expect(turns?.standing).toBe('supported');
    expect(turns?.evidence).toEqual([]);
    expect(turns?.['heldAgainst']).toMatchObject([{ verdict: 'fails', held: [] }]);
  });

  it('is none of a capture that the map was made from', () => {
    const same = [{ code: 'map-made-from-this-capture', message: '' }];
    expect(withProof(map, report([item('turns', 'holds', [place, range(0.8)])], same), capture)).toBeNull();
  });
});
