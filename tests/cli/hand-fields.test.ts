/** Fields placed and refused in a dossier, and the same value in two frames, in what `fields` and `draft` say. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { emptyDossier } from '../../src/jobs/dossier.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { loomscribe } from '../support/command.ts';
import { twoFramesOfOneValue } from '../support/one-value-twice.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-hand-'));
const capture = join(folder, 'bench.log');
writeFileSync(capture, twoFramesOfOneValue('hand fields'));
const dossier = join(folder, 'hand.dossier.json');
const files = [{ name: 'bench.log', bytes: 1, sha256: '' }];
const low = { lsb: { byte: 1, bit: 0 }, length: 8, order: 'little' };
const counter = { ...low, name: 'set', step: 1, every: 1, min: 0, max: 255, when: null, confidence: 0 };
writeFileSync(
  dossier,
  JSON.stringify({
    ...emptyDossier(),
    captures: [{ id: 'c1', title: 'bench', role: 'main', files }],
    decisions: [
      { bus: 'can0', id: '0x300', extended: false, kind: 'field', placement: low, coding: 'signed' },
      { bus: 'can0', id: '0x200', extended: false, kind: 'rule', placement: low, counter },
    ],
  }),
);

async function run(words: readonly string[]): Promise<string> {
  const { code, out, err } = await loomscribe(words);
  expect({ code, err: code === 0 ? '' : err }).toEqual({ code: 0, err: '' });
  return out;
}
const frameOf = (frames: readonly MapFrame[], id: string): MapFrame =>
  frames.find((frame) => frame.id === id) as MapFrame;
const sameOf = ({ evidence }: MapSignal): Record<string, unknown> | undefined =>
  evidence.find(({ kind, quantity }) => kind === 'cross-check' && quantity === 'same-value');

describe('the same value in two frames', () => {
  it('stands in the text of fields and, with figures, in its JSON and in a draft', async () => {
    expect(await run(['fields', capture])).toMatch(/the same value as 0x100 b0–1.* x 0\.5.*\n?.*ms later/);
    const map = join(folder, 'map.json');
    await run(['draft', capture, '-o', map]);
    const told = [
      (JSON.parse(await run(['fields', capture, '--json'])) as { frames: MapFrame[] }).frames,
      (JSON.parse(readFileSync(map, 'utf8')) as SignalMap).frames,
    ];
    for (const frames of told) {
      const copy = sameOf(frameOf(frames, '0x200').signals[0] as MapSignal);
      expect(copy).toMatchObject({ capture: 'c1', same: 'copy', of: { bus: 'can0', id: '0x100' }, follows: true });
      expect(copy?.['scale']).toBeCloseTo(0.5, 2);
      expect(Math.abs((copy?.['lagMs'] as number) - 80)).toBeLessThan(15);
      expect(sameOf(frameOf(frames, '0x100').signals[0] as MapSignal)).toMatchObject({ same: 'source', copies: 1 });
      expect(frameOf(frames, '0x300').signals.map(sameOf)).toEqual(
        frameOf(frames, '0x300').signals.map(() => undefined),
      );
    }
  });
});

describe('the rule of a guard set by hand in a dossier', () => {
  it('binds fields and draft, whatever is found there; the map says in how many frames it holds', async () => {
    const map = join(folder, 'rule-map.json');
    await run(['draft', '--dossier', dossier, capture, '-o', map]);
    const told = [
      (JSON.parse(await run(['fields', '--dossier', dossier, capture, '--json'])) as { frames: MapFrame[] }).frames,
      (JSON.parse(readFileSync(map, 'utf8')) as SignalMap).frames,
    ];
    for (const frames of told) {
      const { counters, signals } = frameOf(frames, '0x200');
      expect(counters).toMatchObject([{ ...low, step: 1, min: 0, max: 255, when: null }]);
      expect(signals.filter(({ lsb, length }) => lsb.byte === 1 && length >= 8)).toEqual([]);
      const [{ passed, checked, instead } = {}] = counters[0]?.['evidence'] as Record<string, unknown>[];
      expect(checked).toBeGreaterThan(100);
      // A value is no counter: few of its frames follow on.
      expect(Number(passed)).toBeLessThan(0.2 * Number(checked));
      expect(counters[0]?.confidence).toBeLessThan(0.2);
      expect(instead).toMatchObject([{ what: 'field' }]);
    }
  });
});

describe('a field placed by hand in a dossier', () => {
  it('binds fields and draft, is read as the person reads it, and the disagreement is said with its bits', async () => {
    const map = join(folder, 'hand-map.json');
    await run(['draft', '--dossier', dossier, capture, '-o', map]);
    const told = [
      (JSON.parse(await run(['fields', '--dossier', dossier, capture, '--json'])) as { frames: MapFrame[] }).frames,
      (JSON.parse(readFileSync(map, 'utf8')) as SignalMap).frames,
    ];
    for (const frames of told) {
      const placed = frameOf(frames, '0x300').signals.find(({ length, lsb }) => length === 8 && lsb.byte === 1);
      expect(placed).toMatchObject({ coding: 'signed', confidence: 1 });
      const byHand = placed?.evidence.find(({ kind }) => kind === 'by-hand');
      expect(byHand?.['moreBits']).toBeGreaterThan(0);
      expect(byHand?.['instead']).toMatchObject([{ what: 'field', place: 'b0_1' }]);
    }
    expect(await run(['fields', '--dossier', dossier, capture, '--why'])).toMatch(
      /Left to themselves the finders have/,
    );
  });
});

describe('signals confirmed before', () => {
  const named = {
    ...{ name: 'half', ...low, coding: 'signed', kind: 'number', role: 'unknown', when: null, scale: 1, offset: 0 },
    ...{ unit: '', observed: null, allowed: null, invalid: [], states: {}, table: null, standing: 'guess' },
    ...{ sending: 'untested', confidence: 1, evidence: [], notes: '' },
  };

  it('named in a dossier bind fields and draft, and the map says what was found instead', async () => {
    const confirmed = join(folder, 'named.dossier.json');
    const content = { ...emptyDossier(), captures: [{ id: 'c1', title: 'bench', role: 'main', files }] };
    const signals = [{ bus: 'can0', id: '0x300', extended: false, signal: named }];
    writeFileSync(confirmed, JSON.stringify({ ...content, signals }));
    const map = join(folder, 'named-map.json');
    await run(['draft', '--dossier', confirmed, capture, '-o', map]);
    const { frames } = JSON.parse(readFileSync(map, 'utf8')) as SignalMap;
    const kept = frameOf(frames, '0x300').signals.find(({ name }) => name === 'half');
    expect(kept?.evidence.find(({ kind }) => kind === 'by-hand')?.['instead']).toMatchObject([{ place: 'b0_1' }]);

    // The map given back binds as the dossier does.
    for (const given of [
      ['--dossier', confirmed],
      ['--map', map],
    ]) {
      const text = await run(['fields', capture, ...given, '--json']);
      const found = frameOf((JSON.parse(text) as { frames: MapFrame[] }).frames, '0x300');
      const placed = found.signals.find(({ lsb, length }) => length === 8 && lsb.byte === 1);
      expect(placed).toMatchObject({ coding: 'signed', confidence: 1 });
      expect(placed?.['why']).toMatch(/Left to themselves the finders have the field b0–1 here/);
      expect(found.signals.filter(({ length }) => length > 8)).toEqual([]);
    }
  });

  it('guesses of a map bind nobody', async () => {
    const map = join(folder, 'free-map.json');
    await run(['draft', capture, '-o', map]);
    const free = await run(['fields', capture, '--json']);
    expect(await run(['fields', capture, '--map', map, '--json'])).toBe(free);
  });
});
