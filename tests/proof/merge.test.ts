import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { checkMap } from '../../src/map/check.ts';
import { isByHand } from '../../src/map/evidence.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { canonical } from '../../src/proof/merge/canonical.ts';
import { mergeMaps } from '../../src/proof/merge/merge-maps.ts';
import type { MergeItem, SetAside } from '../../src/proof/merge/types.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';

const RUNS = Number(process.env['LOOMSCRIBE_RUNS'] ?? '100');
const CAPTURES = [0, 1].map((n) => ({
  id: `c${n + 1}`,
  title: `drive ${n + 1}`,
  files: [{ name: `${n}.log`, bytes: 10 + n, sha256: `${n}`.repeat(64) }],
}));

/** A person's view of the same three frames: each draw knows, misses and gets wrong other things. */
function viewOf(random: Random, capture: number): SignalMap {
  const some = (share: number): boolean => random.between(0, 1) < share;
  const id = `c${capture + 1}`;
  const standing = () => random.pick(['guess', 'supported', 'proven'] as const);
  const evidence = (): MapSignal['evidence'] => [
    ...(some(0.5) ? [{ kind: 'link' as const, capture: id, effect: random.below(5) }] : []),
    ...(some(0.2) ? [{ kind: 'by-hand' as const }] : []),
  ];
  const signal = (part: Partial<MapSignal> & Placement): MapSignal =>
    aSignal({
      ...(part as MapSignal),
      standing: standing(),
      confidence: random.below(100) / 100,
      evidence: evidence(),
      role: random.pick(['unknown', 'unknown', 'feedback', 'command']),
      ...(some(0.5) ? { mayExtend: { above: 4 * random.below(2), below: 0 } } : {}),
      observed: some(0.5) ? { min: random.below(9) - 9, max: random.below(9) } : null,
    });
  const blank = { scale: 1, offset: 0, unit: '' };
  const known = { scale: random.pick([0.5, 0.1]), offset: random.pick([0, -40]), unit: random.pick(['V', 'A']) };
  const place = (byte: number, bit: number, length: number) => ({
    lsb: { byte, bit },
    length,
    order: 'little' as const,
  });
  const page = random.pick(['page', 'frame_100_0']);
  const paged: MapFrame = aFrame({
    id: '0x100',
    name: random.pick(['frame_100', 'pack_cells']),
    selectors: [aSelector({ ...place(0, 0, 4), name: page })],
    signals: [1, 2]
      .filter(() => some(0.8))
      .map((value) =>
        signal({
          ...place(2, 0, some(0.7) ? 16 : 12),
          name: `${random.pick(['cell', 'frame_100_16'])}_${value}`,
          when: { [page]: [value] },
          ...(some(0.5) ? blank : known),
        }),
      ),
    unclaimed: some(0.5) ? [{ ...place(4, 0, 32), reason: 'constant', value: 7 }] : [],
  });
  const guarded: MapFrame = aFrame({
    id: '0x200',
    name: 'inverter_status',
    role: random.pick(['unknown', 'sent-by-part', 'needed-by-part']),
    timing: { kind: 'periodic', periodMs: random.pick([10, 10.01, 20]), jitterMs: random.below(9) / 10 },
    need: random.pick([
      { verdict: 'untested', how: '' },
      { verdict: 'required', how: 'bench' },
      { verdict: 'not-required', how: 'absence' },
    ]),
    counters: some(0.8) ? [aCounter({ ...place(6, 0, 4), max: random.pick([15, 14]) })] : [],
    checksums: some(0.8)
      ? [
          random.pick([
            aChecksum({ ...place(7, 0, 8), method: 'unsolved' }),
            aChecksum({
              ...place(7, 0, 8),
              method: 'xor',
              covers: [0, 1, 2, 3, 4, 5, 6],
              undetermined: [{ byte: 1, bit: random.below(2) }],
            }),
            aChecksum({ ...place(7, 0, 8), method: 'sum', width: 8, covers: [0, 1, 2, 3, 4, 5, 6] }),
          ]),
        ]
      : [],
    signals: [
      ...(some(0.8)
        ? [signal({ ...place(0, 0, 16), name: random.pick(['speed', 'frame_200_0']), ...(some(0.4) ? blank : known) })]
        : []),
      ...(some(0.5)
        ? [signal({ ...place(2, 4, 8), name: 'torque' })]
        : [signal({ ...place(3, 0, 8), name: 'torque' })]),
      ...(some(0.3) ? [signal({ ...place(6, 0, 8), name: 'mixed' })] : []),
      ...(some(0.4)
        ? [
            signal({
              ...place(5, 0, 2),
              name: 'mode',
              kind: 'states',
              states: { '0': 'off', '1': random.pick(['on', 'ready']) },
            }),
          ]
        : []),
    ],
    unclaimed: some(0.5) ? [{ ...place(4, 0, 8), reason: random.pick(['constant', 'noise']) }] : [],
  });
  const extra = aFrame({ id: `0x30${capture}`, name: 'extra' });
  const frames = [paged, guarded, ...(some(0.4) ? [extra] : [])];
  const map = aMap(frames, { captures: [CAPTURES[capture] as never], requires: ['when'] });
  return { ...map, frames: frames.map((frame) => ({ ...frame, rest: frame.rest && { ...frame.rest, capture: id } })) };
}

const twoViews = fc.integer({ min: 0, max: 1e9 }).map((seed) => {
  const random = createRandom(seed);
  return [viewOf(random, 0), viewOf(random, 1)] as const;
});

/** Lists that are sets, in an order of their own. */
function sorted(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(sorted).sort((a, b) => (canonical(a) < canonical(b) ? -1 : 1));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, sorted(inner)]));
}

/** Names of selectors and of what shared a name come from the order at times; all else must not. */
const inAnyOrder = (map: SignalMap): string => canonical(sorted(map));

const decoding = (signal: MapSignal): string =>
  canonical([bitPositions(signal as Placement), signal.coding, signal.scale, signal.offset, signal.unit, signal.table]);

const asideOf = (frame: MapFrame | undefined): SetAside[] => (frame?.['setAside'] as SetAside[] | undefined) ?? [];
const twin = (map: SignalMap, frame: MapFrame): MapFrame | undefined =>
  map.frames.find((each) => frameKey(each) === frameKey(frame));

describe('two maps merged', () => {
  it('changes nothing where they are one map', () => {
    fc.assert(
      fc.property(twoViews, ([map]) => {
        const { map: merged, report } = mergeMaps(map, map);
        expect(merged).toEqual(map);
        expect(new Set(report.items.map(({ outcome }) => outcome))).toEqual(new Set(['equal']));
      }),
    );
  });

  it('comes to the same whichever is first, but for the order of lists', () => {
    fc.assert(
      fc.property(twoViews, ([a, b]) => {
        expect(inAnyOrder(mergeMaps(b, a).map)).toBe(inAnyOrder(mergeMaps(a, b).map));
      }),
      { numRuns: RUNS },
    );
  });

  it('changes nothing more where one of them is merged once more', () => {
    fc.assert(
      fc.property(twoViews, ([a, b]) => {
        const { map } = mergeMaps(a, b);
        expect(inAnyOrder(mergeMaps(map, b).map)).toBe(inAnyOrder(map));
        expect(inAnyOrder(mergeMaps(map, a).map)).toBe(inAnyOrder(map));
      }),
      { numRuns: RUNS },
    );
  });

  it('loses no decoding, no guard and no evidence of either', () => {
    fc.assert(
      fc.property(twoViews, ([a, b]) => {
        const { map } = mergeMaps(a, b);
        for (const frame of [...a.frames, ...b.frames]) {
          const merged = twin(map, frame);
          const all = canonical([merged, asideOf(merged)]);
          const there = new Set([
            ...(merged?.signals ?? []).map(decoding),
            ...asideOf(merged).flatMap(({ item, version }) =>
              item === 'signal' ? [decoding(version as MapSignal)] : [],
            ),
          ]);
          for (const signal of frame.signals) {
            const isBlank = signal.standing === 'guess' && signal.unit === '' && !isByHand(signal);
            if (!isBlank) expect(there).toContain(decoding(signal));
            for (const evidence of signal.evidence) expect(all).toContain(canonical(evidence));
          }
          for (const { method } of frame.checksums)
            if (method !== 'unsolved') expect(all).toContain(`"method":"${method}"`);
          for (const counter of frame.counters) expect(all).toContain(`"max":${counter.max}`);
        }
      }),
      { numRuns: RUNS },
    );
  });

  it('keeps in force what a person set in one of them alone, and makes a map that can be read', () => {
    fc.assert(
      fc.property(twoViews, ([a, b]) => {
        const { map, report } = mergeMaps(a, b);
        expect(checkMap(map).errors).toEqual([]);
        expect(checkMap(map).warnings.filter(({ code }) => code === 'overlap')).toEqual(
          [a, b].flatMap((each) => checkMap(each).warnings).some(({ code }) => code === 'overlap')
            ? expect.anything()
            : [],
        );
        const again = parseMap(printMap(map), 'map');
        expect(again.ok && again.value).toEqual(map);
        for (const [side, own, other] of [
          ['first', a, b],
          ['second', b, a],
        ] as const)
          for (const frame of own.frames)
            for (const signal of frame.signals.filter(isByHand)) {
              const theirs = twin(other, frame)?.signals.some(isByHand);
              if (theirs) continue;
              expect(twin(map, frame)?.signals.map(decoding), `${side} ${signal.name}`).toContain(decoding(signal));
            }
        for (const item of report.items.filter(({ outcome }) => outcome === 'conflict'))
          expect(item.first !== undefined || item.second !== undefined).toBe(true);
      }),
      { numRuns: RUNS },
    );
  });
});

describe('what is the same and what is not', () => {
  const place = { lsb: { byte: 0, bit: 0 }, length: 16 };
  const one = (part: Partial<MapSignal>): SignalMap => aMap([aFrame({ signals: [aSignal({ ...place, ...part })] })]);
  const about = (a: SignalMap, b: SignalMap) => {
    const { map, report } = mergeMaps(a, b);
    const item = report.items.find((each) => each.item === 'signal') as MergeItem;
    return { map, report, item, signal: map.frames[0]?.signals[0] as MapSignal };
  };

  it('takes a meaning that only one knows, with what the other observed put in its unit', () => {
    const { item, signal } = about(
      one({ name: 'f_123_0', observed: { min: 10, max: 200 } }),
      one({ name: 'voltage', unit: 'V', scale: 0.5, observed: { min: 50, max: 60 }, standing: 'supported' }),
    );
    expect(item).toMatchObject({ outcome: 'united', name: 'voltage' });
    expect(signal).toMatchObject({ name: 'voltage', unit: 'V', standing: 'supported', observed: { min: 5, max: 100 } });
  });

  it('takes two fits that agree within their uncertainty as one, and two that do not as a conflict', () => {
    const fitted = (scale: number, scaleSe: number): SignalMap =>
      one({
        name: 'v',
        unit: 'V',
        scale,
        evidence: [{ kind: 'fit', capture: 'c1', scale, scaleSe, offset: 0, offsetSe: 0.1 }],
      });
    expect(about(fitted(0.1, 0.001), fitted(0.1005, 0.001)).item.outcome).toBe('united');
    const { item, signal, map } = about(fitted(0.1, 0.0001), fitted(0.11, 0.0001));
    expect(item).toMatchObject({ outcome: 'conflict', decided: false });
    expect(signal).toMatchObject({ standing: 'guess', disputed: { standing: 'guess' } });
    expect(asideOf(map.frames[0])).toHaveLength(1);
  });

  it('lets a person’s hand and then standing decide, and nothing else', () => {
    const hand = one({ name: 'a', unit: 'V', scale: 2, evidence: [{ kind: 'by-hand' }] });
    const proven = one({ name: 'a', unit: 'A', scale: 3, standing: 'proven' });
    const guess = one({ name: 'a', unit: 'W', scale: 4, confidence: 0.99 });
    expect(about(hand, proven)).toMatchObject({ item: { decided: true, kept: 'first' }, signal: { unit: 'V' } });
    expect(about(guess, proven)).toMatchObject({
      item: { decided: true, kept: 'second' },
      signal: { unit: 'A', standing: 'proven' },
    });
    expect(about(guess, one({ name: 'a', unit: 'V', scale: 2 }))).toMatchObject({
      item: { decided: false },
      signal: { unit: 'W', confidence: 0.5 },
    });
  });

  it('knows a bus by what is on it, and a capture by its files', () => {
    const frames = (bus: string, ids: readonly string[]): MapFrame[] =>
      ids.map((id) => aFrame({ bus, id, name: `f_${id}` }));
    const buses = ['can0', 'can1'].map((name) => ({ name, bitrate: null, dataBitrate: null }));
    const a = aMap([...frames('can0', ['0x1', '0x2', '0x3']), ...frames('can1', ['0x11', '0x12'])], {
      buses,
      captures: [CAPTURES[0] as never],
    });
    const b = aMap([...frames('can1', ['0x1', '0x2', '0x3', '0x4']), ...frames('can0', ['0x11', '0x12'])], {
      buses,
      captures: [{ ...(CAPTURES[1] as never as SignalMap['captures'][number]), id: 'c1' }],
    });
    const { map, report } = mergeMaps(a, b);
    expect(report.buses).toEqual({ can0: 'can1', can1: 'can0' });
    expect(map.frames.map(({ bus, id }) => `${bus} ${id}`).sort()).toEqual([
      'can0 0x1',
      'can0 0x2',
      'can0 0x3',
      'can0 0x4',
      'can1 0x11',
      'can1 0x12',
    ]);
    expect(map.captures.map(({ id, title }) => `${id} ${title}`)).toEqual(['c1 drive 1', 'c2 drive 2']);
    expect(map.frames.find(({ id }) => id === '0x4')?.rest?.capture).toBe('c2');
    expect(
      mergeMaps(a, { ...a, captures: [{ ...(a.captures[0] as never as object), id: 'x' }] as never }).map.captures,
    ).toHaveLength(1);
  });

  it('takes a longer run of a value as more of the same where the shorter one left its border open', () => {
    const at = (length: number, above: number, part: Partial<MapSignal> = {}): SignalMap =>
      one({ length, name: `b0_bits0to${length - 1}`, mayExtend: { above, below: 0 }, ...part });
    const open = about(at(6, 3, { evidence: [{ kind: 'link', effect: 3 }] }), at(8, 0));
    expect(open.item).toMatchObject({ outcome: 'united', kept: 'second' });
    expect(open.signal).toMatchObject({ length: 8, standing: 'guess', evidence: [{ kind: 'link' }] });
    expect(open.signal['disputed']).toBeUndefined();
    expect(asideOf(open.map.frames[0])).toHaveLength(1);
    expect(about(at(6, 1), at(8, 0)).item.outcome).toBe('conflict');
    expect(about(at(6, 3, { evidence: [{ kind: 'by-hand' }] }), at(8, 0)).item).toMatchObject({
      outcome: 'conflict',
      kept: 'first',
    });
  });

  it('cuts what stood still where the other knows a value, and keeps what it said', () => {
    const still = aMap([aFrame({ unclaimed: [{ ...place, order: 'little', reason: 'constant', value: 0xab34 }] })]);
    const moved = aMap([aFrame({ signals: [aSignal({ lsb: { byte: 0, bit: 4 }, length: 8 })] })]);
    const { map } = mergeMaps(still, moved);
    expect(map.frames[0]?.unclaimed).toEqual([
      { lsb: { byte: 0, bit: 0 }, length: 4, order: 'little', reason: 'constant', value: 4 },
      { lsb: { byte: 1, bit: 4 }, length: 4, order: 'little', reason: 'constant', value: 10 },
    ]);
    expect(asideOf(map.frames[0])).toHaveLength(1);
  });
});
