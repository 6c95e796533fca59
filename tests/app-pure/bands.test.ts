/** Bands and their labels: what is said of a field, how pages gather, and that no label covers another. */
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { foldRuns, labelShape, pooled, spreadLabels } from '../../src/app/pictures/bands-layout.ts';
import { bandsOf, fieldAt, joinedBytes } from '../../src/app/pictures/bands-model.ts';
import { placeWords } from '../../src/fields/place-words.ts';
import { checksumWords, kindWords, placementKey } from '../../src/app/pictures/bands-words.ts';
import type { FieldFinding, FrameFindings } from '../../src/fields/types.ts';

const field = (
  byte: number,
  length: number,
  order: 'little' | 'big' = 'little',
  more: Partial<FieldFinding> = {},
): FieldFinding => ({
  ...fieldAt({ lsb: { byte, bit: 0 }, length, order }),
  why: 'each bit flips half as often as the one below',
  ...more,
});
const findings = (fields: readonly FieldFinding[], more: Partial<FrameFindings> = {}): FrameFindings => ({
  bus: 'can0',
  id: '0x1F4',
  extended: false,
  direction: 'received',
  length: 8,
  fd: false,
  bits: { bytes: 8, frames: 100, setShare: [], changeShare: [] },
  counters: [],
  checksums: [],
  selectors: [],
  fields,
  unclaimed: [],
  ...more,
});

describe('words', () => {
  it('names places', () => {
    expect(placeWords({ lsb: { byte: 3, bit: 7 }, length: 1, order: 'little' })).toBe('b3.7');
    expect(placeWords({ lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' })).toBe('b0–1');
    expect(placeWords({ lsb: { byte: 6, bit: 4 }, length: 2, order: 'little' })).toBe('b6.5–4');
    expect(placeWords({ lsb: { byte: 2, bit: 0 }, length: 12, order: 'little' })).toBe('b2.0–b3.3');
  });
  it('says kind, length, order and coding, and no order within a byte', () => {
    expect(kindWords({ ...field(1, 16, 'big'), coding: 'signed' })).toBe('number, 16 bits, big, signed');
    expect(kindWords(field(4, 8))).toBe('number, 8 bits');
    expect(kindWords(field(4, 1))).toBe('flag');
  });
  it('shows a checksum by its parameters', () => {
    expect(
      checksumWords({
        lsb: { byte: 7, bit: 0 },
        length: 8,
        order: 'little',
        method: 'crc',
        width: 8,
        poly: '0x1D',
        when: null,
        undetermined: [],
        confidence: 1,
      }),
    ).toBe('checksum, CRC-8, poly 0x1D');
  });
});

describe('bands', () => {
  it('joins findings with what the person named, refused and placed', () => {
    const signal = { ...fieldAt({ lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' as const }), name: 'motor_speed' };
    const bands = bandsOf({
      findings: findings([field(1, 16, 'big'), field(4, 8)]),
      signals: [signal],
      decisions: [
        { kind: 'refused', placement: { lsb: { byte: 5, bit: 0 }, length: 8, order: 'little' } },
        { kind: 'field', placement: { lsb: { byte: 6, bit: 0 }, length: 4, order: 'little' } },
      ],
    });
    expect(bands.map(({ name, named, glyph, refused }) => [name, named, glyph, refused])).toEqual([
      ['motor_speed', true, 'wedge', false],
      ['b4', false, 'wedge', false],
      ['b5', false, 'dashed', true],
      ['b6.3–0', false, 'wedge', false],
    ]);
  });
  it('reads what a person placed as they chose, above the finder', () => {
    const placement = { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' as const };
    const decisions = [{ kind: 'field' as const, placement, coding: 'signed' }];
    const found = bandsOf({ findings: findings([field(1, 16, 'big')]), signals: [], decisions });
    expect(found).toMatchObject([{ byHand: true, value: { coding: 'signed' }, words: 'number, 16 bits, big, signed' }]);
    expect(bandsOf({ findings: null, signals: [], decisions })).toMatchObject([{ value: { coding: 'signed' } }]);
  });
  it('keeps a signal whose bits no finder proposes', () => {
    const signal = { ...fieldAt({ lsb: { byte: 2, bit: 3 }, length: 3, order: 'little' as const }), name: 'lever' };
    expect(bandsOf({ findings: findings([]), signals: [signal], decisions: [] })).toMatchObject([
      { name: 'lever', byHand: true },
    ]);
  });
  it('gathers fields of several pages over the same bits into one band', () => {
    const bands = bandsOf({
      findings: findings([
        field(5, 8, 'little', { when: { page: [0] } }),
        field(5, 4, 'little', { when: { page: [1] } }),
        field(2, 8),
      ]),
      signals: [],
      decisions: [],
    });
    const pages = bands.find(({ glyph }) => glyph === 'strips');
    expect(bands).toHaveLength(2);
    expect(pages?.pages).toHaveLength(2);
    expect(pages?.words).toBe('2 pages, told by page');
    expect(pages?.name).toBe('b5');
  });
  it('tells pages of the same bits apart by key', () => {
    const place = { lsb: { byte: 5, bit: 0 }, length: 8, order: 'little' } as const;
    expect(placementKey(place, { page: [0] })).not.toBe(placementKey(place, { page: [1] }));
  });
});

describe('labels', () => {
  const wishes = fc.array(fc.record({ top: fc.integer({ min: 0, max: 480 }), height: fc.constantFrom(17, 32, 47) }), {
    maxLength: 12,
  });
  it('never lets one label cover another, and keeps them inside where they fit', () => {
    fc.assert(
      fc.property(wishes, (unsorted) => {
        const sorted = [...unsorted].sort((a, b) => a.top - b.top);
        const tops = spreadLabels(sorted, 480);
        sorted.forEach((wish, index) => {
          const next = tops[index + 1];
          if (next !== undefined) expect(next).toBeGreaterThanOrEqual((tops[index] as number) + wish.height - 1e-6);
        });
        const total = sorted.reduce((sum, { height }) => sum + height, 0);
        if (total <= 480 && sorted.length)
          expect((tops.at(-1) as number) + (sorted.at(-1)?.height ?? 0)).toBeLessThanOrEqual(480 + 1e-6);
      }),
    );
  });
  it('leaves labels alone that do not touch', () => {
    expect(
      spreadLabels(
        [
          { top: 0, height: 17 },
          { top: 100, height: 32 },
        ],
        480,
      ),
    ).toEqual([0, 100]);
  });
  it('pools violators into their mean, as in isotonic regression', () => {
    // Worked by hand: 3, 1 pool to 2; then 2, 2, 5, 4 -> 5, 4 pool to 4.5.
    expect(pooled([3, 1, 5, 4])).toEqual([2, 2, 4.5, 4.5]);
  });
  it('gives a block from 28 px on and one line below', () => {
    expect(labelShape(27, 'why', 280).block).toBe(false);
    expect(labelShape(56, 'x'.repeat(90), 280)).toEqual({ block: true, height: 47 });
  });
  it('folds runs of flags only', () => {
    expect(foldRuns([1, 2, 5, 3], (n) => n < 4)).toEqual([[1, 2], 5, 3]);
  });
});

describe('what is left over', () => {
  const left = (byte: number, reason: 'idle' | 'constant', length = 8, bit = 0) => ({
    lsb: { byte, bit },
    length,
    order: 'little' as const,
    reason,
    why: reason === 'idle' ? 'Zero in every frame.' : 'The same in every frame.',
  });
  it('joins neighbouring whole bytes of one reason, and nothing else', () => {
    const joined = joinedBytes([
      left(6, 'idle'),
      left(4, 'idle'),
      left(5, 'idle'),
      left(7, 'constant'),
      left(9, 'idle'),
      left(10, 'idle', 4),
    ]);
    expect(joined.map(({ lsb, length, reason }) => [lsb.byte, length, reason])).toEqual([
      [4, 24, 'idle'],
      [7, 8, 'constant'],
      [9, 8, 'idle'],
      [10, 4, 'idle'],
    ]);
  });
});
