import { describe, expect, it } from 'vitest';
import { confidenceOf, confidenceOnPages } from '../../src/fields/confidence.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { asCell } from '../../src/fields/page-cells.ts';
import type { FoundLattice } from '../../src/fields/page-lattice-find.ts';
import type { FieldFinding } from '../../src/fields/types.ts';
import type { Rival, Span } from '../../src/fields/segment.ts';
import { surroundingsOf, type Surroundings } from '../../src/fields/surroundings.ts';
import type { PayloadRows } from '../../src/fields/payload-rows.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const span = (byte: number, bit: number, length: number, margin = 40, rival: Rival = 'cut'): Span => ({
  lsb: { byte, bit },
  length,
  order: 'little',
  cost: { bits: 100, model: 'number', pairs: 99, moves: 50, isFilled: false },
  margin,
  orderMargin: 40,
  rival,
  touching: 0,
});

const asStates = (each: Span): Span => ({ ...each, cost: { ...each.cost, model: 'states' } });

const quiet: Surroundings = {
  rows: 1000,
  moves: 50,
  flips: [50, 30, 15, 7, 3, 2, 1, 1],
  noiseBeside: false,
  look: 2,
  looksOfOthers: 2,
  leastBeside: 3,
  betweenTwo: false,
  withBelow: 0,
  withAbove: 0,
  aloneShare: 0.5,
};

const sure = (around: Partial<Surroundings> = {}, each = span(0, 0, 8), stepShare = 0.1): number =>
  confidenceOf(each, { ...quiet, ...around }, stepShare);

describe('confidence of a span', () => {
  it('falls with every sign that it is part of something else', () => {
    const plain = sure();
    expect(sure({ noiseBeside: true })).toBeLessThan(plain);
    expect(sure({ withBelow: 0.9 })).toBeLessThan(plain);
    expect(sure({ withAbove: 0.9 })).toBeLessThan(plain);
    expect(sure({ flips: [50, 10, 5, 2, 40, 20, 10, 5] })).toBeLessThan(plain);
  });

  it('rises with the margin, and is less where the next best division has a longer value there', () => {
    expect(sure({}, span(0, 0, 8, 1))).toBeLessThan(sure({}, span(0, 0, 8, 12)));
    expect(sure({}, span(0, 0, 8, 40, 'longer'))).toBeLessThan(sure());
  });

  it('is less where bits side by side never moved one without the other, but in a value that moved once, and where nothing moved', () => {
    const states = asStates(span(0, 0, 3));
    const plain = sure({ flips: [50, 30, 15] }, states);
    expect(sure({ flips: [50, 50, 50] }, states)).toBeLessThan(plain);
    expect(sure({ moves: 1, flips: [1, 1, 1] }, states)).toBe(sure({ moves: 1, flips: [1, 1, 0] }, states));
    expect(sure({ moves: 0, flips: [0, 0, 0] }, states)).toBeLessThan(sure({ moves: 1, flips: [1, 0, 0] }, states));
  });

  it('is less of a number that leaps over its range, and of one whose top bits moved once, as with a flag above it', () => {
    expect(sure({}, span(0, 0, 8), 0.9)).toBeLessThan(sure({}, span(0, 0, 8), 0.1));
    expect(sure({ flips: [50, 30, 15, 7, 1, 1, 1, 1] })).toBeLessThan(sure());
  });

  it('is less of a flag that moved seldom where a longer value is the rival, and beside a doubtful span', () => {
    const flag = span(0, 3, 1, 10, 'longer');
    expect(sure({ moves: 2, flips: [2] }, flag)).toBeLessThan(sure({ moves: 20, flips: [20] }, flag));
    expect(sure({ moves: 20, flips: [20], leastBeside: -1 }, flag)).toBeLessThan(
      sure({ moves: 20, flips: [20] }, flag),
    );
  });

  it('is less on pages whose other fields are doubtful', () => {
    const among = (looksOfOthers: number): number =>
      confidenceOnPages(span(0, 0, 8), { ...quiet, looksOfOthers }, 0.1, { when: {}, savedShare: 0.5 });
    expect(among(-1)).toBeLessThan(among(2));
  });

  it('is little with a handful of rows', () => {
    expect(sure({ rows: 5 })).toBeLessThan(sure({ rows: 40 }) - 0.02);
    const onPages = (rows: number): number =>
      confidenceOnPages(span(0, 0, 8), { ...quiet, rows }, 0.1, { when: {}, savedShare: 0.5 });
    expect(onPages(5)).toBeLessThan(onPages(40) - 0.1);
  });

  it('is never certain, on pages less so, and the less the pages save', () => {
    expect(sure({}, span(0, 0, 8, 1e9))).toBeLessThan(1);
    const onPages = (savedShare: number): number =>
      confidenceOnPages(span(0, 0, 8), quiet, 0.1, { when: {}, savedShare });
    expect(onPages(0.1)).toBeLessThan(onPages(0.9));
    expect(onPages(0.1)).toBeLessThan(sure());
  });

  it('tells a value that stands by itself in its byte from flags beside noise', () => {
    const count = 3000;
    const payload = new Uint8Array(count * 8);
    const place = (byte: number, bit: number, length: number) => ({
      lsb: { byte, bit },
      length,
      order: 'little' as const,
    });
    const random = createRandom('noise beside');
    writeColumn(payload, 8, place(1, 0, 8), physicalWalk(random, count, 20, 230));
    const noise = Float64Array.from({ length: count }, () => Math.floor(2 * random.next()));
    writeColumn(payload, 8, place(4, 2, 1), noise);
    const lamp = Float64Array.from({ length: count }, (_, row) => (row > 900 && row < 2000 ? 1 : 0));
    writeColumn(payload, 8, place(4, 3, 1), lamp);
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    const confidenceAt = (byte: number): number => fields.find(({ lsb }) => lsb.byte === byte)?.confidence ?? NaN;
    expect(confidenceAt(1)).toBeGreaterThan(0.95);
    expect(confidenceAt(4)).toBeLessThan(confidenceAt(1) - 0.1);
  });
});

describe('surroundings of spans', () => {
  /** Byte 0: a ramp of eight bits read as two halves; byte 1: bit 0 turns alone, bit 4 is moved and claimed by nobody. */
  const count = 256;
  const data = Uint8Array.from({ length: 2 * count }, (_, at) =>
    at % 2 === 0 ? at >> 2 : (at >> 1 === 7 || at >> 1 === 21 ? 1 : 0) | ((at >> 6) & 1 ? 16 : 0),
  );
  const rows: PayloadRows = { bytes: 2, count, data, joined: new Uint8Array(count).fill(1, 1) };
  const spans = [span(0, 0, 4), span(0, 4, 3, 2), span(1, 0, 1)];
  const [lower, upper, flag] = surroundingsOf(rows, spans, Uint8Array.of(0x7f, 0x11), Uint8Array.of(0, 0x10)) as [
    Surroundings,
    Surroundings,
    Surroundings,
  ];

  it('says that the upper half of a value moves with the lower one', () => {
    expect(upper.withBelow).toBeGreaterThan(0.45);
    expect(lower.withAbove).toBeGreaterThan(0.45);
  });

  it('counts flips from the least significant bit, moves, and moves alone', () => {
    expect(lower.flips).toEqual([127, 63, 31, 15]);
    expect(upper.moves).toBe(7);
    expect(flag.moves).toBe(4);
    expect(flag.aloneShare).toBeCloseTo(0.5);
    expect([flag.withBelow, flag.withAbove]).toEqual([0, 0]);
  });

  it('says how sure the others are at first look, and the least of those that touch it', () => {
    expect(upper.look).toBeLessThan(lower.look);
    expect(lower.looksOfOthers).toBeCloseTo((upper.look + flag.look) / 2);
    expect([lower.leastBeside, upper.leastBeside, flag.leastBeside]).toEqual([upper.look, lower.look, 3]);
    expect([lower, upper, flag].map(({ betweenTwo }) => betweenTwo)).toEqual([false, false, false]);
    const [, middle] = surroundingsOf(
      rows,
      [span(0, 0, 2), span(0, 2, 2), span(0, 4, 3)],
      Uint8Array.of(0x7f, 0x11),
      new Uint8Array(2),
    );
    expect(middle?.betweenTwo).toBe(true);
  });

  it('sees noise directly beside a span only', () => {
    expect(flag.noiseBeside).toBe(false);
    const [beside] = surroundingsOf(rows, [span(1, 0, 4)], Uint8Array.of(0x7f, 0x11), Uint8Array.of(0, 0x10));
    expect(beside?.noiseBeside).toBe(true);
  });
});

describe('confidence of cells', () => {
  it('is high where many lie at one pitch, and not of two a page, which do by chance', () => {
    const listOf = (slots: number, pitch = 16, savedBits = 4000): FoundLattice =>
      ({
        lattice: { pitch, order: 'little', slots: Array.from({ length: slots }) },
        cells: 8 * slots,
        savedBits,
        plainBits: 10000,
      }) as unknown as FoundLattice;
    const sureOf = (slots: number, pitch?: number, when = {}): number =>
      asCell({ when } as FieldFinding, listOf(slots, pitch)).confidence;
    expect(sureOf(4)).toBeGreaterThan(0.98);
    expect(sureOf(2)).toBeLessThan(0.8);
    // Bytes lie at one pitch whatever they hold; modules whose cells look alike are taken for one page.
    expect(sureOf(4, 8)).toBeLessThan(0.9);
    expect(sureOf(4, 16, { module: [3] })).toBeGreaterThan(0.98);
    expect(sureOf(4, 16, { module: [3, 7] })).toBeLessThan(0.5);
    // Of many lattices one saves a little by chance.
    expect(asCell({ when: {} } as FieldFinding, listOf(4, 16, 300)).confidence).toBeLessThan(0.7);
  });
});
