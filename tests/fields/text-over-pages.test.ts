import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { isTextEvidence, textEvidence } from '../../src/fields/text-bytes.ts';
import { textSelector } from '../../src/fields/text-over-pages.ts';
import { toMapFrame } from '../../src/fields/to-map-frame.ts';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { compileFrame } from '../../src/map/decode.ts';
import { frameSchema } from '../../src/map/schema.ts';
import { makeStream } from './support/streams.ts';

const codes = (text: string): number[] => Array.from(text, (letter) => letter.charCodeAt(0));

/** Payloads of so many frames, one after the other as given. */
const turnsOf = (payloads: readonly (readonly number[])[], count: number): Stream =>
  makeStream(
    Uint8Array.from({ length: count * 8 }, (_, at) => payloads[(at >> 3) % payloads.length]?.[at & 7] ?? 0),
    8,
  );

const textFields = (stream: Stream) => {
  const { selectors, fields, counters } = findFieldsOfStream(stream, {});
  return { selectors, counters, texts: fields.filter(({ kind }) => kind === 'text'), fields };
};

describe('text over pages', () => {
  it.each([
    [2, [0x10, 0x11]],
    [3, [0, 1, 2]],
    [5, [1, 2, 3, 4, 5]],
    [8, [0, 1, 2, 3, 4, 5, 6, 7]],
  ])('finds %i pages and reads the text of each', (_, pages) => {
    const random = createRandom(`serial ${pages.length}`);
    const letters = pages.map(() =>
      Array.from({ length: 7 }, () => random.pick([...'ABCDEFGHJKLMNPRSTUVWXYZ0123456789'])).join(''),
    );
    const stream = turnsOf(
      pages.map((page, index) => [page, ...codes(letters[index] as string)]),
      240,
    );
    const { selectors, texts, counters, fields } = textFields(stream);
    expect(selectors.map(({ lsb }) => lsb.byte)).toEqual([0]);
    expect(counters).toEqual([]);
    expect(fields).toHaveLength(pages.length);
    for (const { lsb, length, order, coding } of texts)
      expect({ lsb, length, order, coding }).toEqual({
        lsb: { byte: 7, bit: 0 },
        length: 56,
        order: 'big',
        coding: 'text',
      });
    for (const text of letters) expect(texts.some(({ why }) => why.includes(`"${text}"`))).toBe(true);
  });

  it('needs no list of turns where characters in each byte rule out chance, and one where few do', () => {
    const random = createRandom('text by no list');
    const order = Array.from({ length: 96 }, () => random.below(4));
    const found = (texts: readonly string[]) => {
      const payload = new Uint8Array(order.length * 8);
      order.forEach((page, row) => payload.set([page, ...codes(texts[page] as string)], row * 8));
      const rows = rowsOfStream(makeStream(payload, 8));
      return textSelector(rows, movedMask(rows), [])?.lsb.byte;
    };
    expect(found(['KX7203A', 'PW41B7C', 'Q9ZD05E', 'M5T8H2V'])).toBe(0);
    expect(found(['KX', 'PW', 'Q9', 'M5'].map((text) => `${text}.....`))).toBeUndefined();
  });

  it('names the page without the bits of its byte that a guard holds', () => {
    const texts = ['KX7203A', 'PW41B7C', 'Q9ZD05E'];
    const payload = new Uint8Array(600 * 8);
    for (let row = 0; row < 600; row++)
      payload.set([(row % 3) | ((row & 15) << 4), ...codes(texts[row % 3] as string)], row * 8);
    const rows = rowsOfStream(makeStream(payload, 8));
    const free = movedMask(rows);
    free[0] = 0x0f;
    const found = textSelector(rows, free, []);
    expect(found).toMatchObject({ lsb: { byte: 0, bit: 0 }, length: 2, values: [0, 1, 2] });
  });

  it('leaves the padding behind a text, and counts what counts beside the pages', () => {
    const texts = ['KX7203', 'PW41', 'Q'];
    const payload = new Uint8Array(600 * 8);
    for (let row = 0; row < 600; row++)
      payload.set([row & 0xff, (row % 3) + 1, ...codes((texts[row % 3] as string).padEnd(6, '\0'))], row * 8);
    const found = textFields(makeStream(payload, 8));
    expect(found.selectors.map(({ lsb, length }) => [lsb, length])).toEqual([[{ byte: 1, bit: 0 }, 2]]);
    expect(found.counters.map(({ lsb, length }) => [lsb, length])).toEqual([[{ byte: 0, bit: 0 }, 8]]);
    expect(found.texts.map(({ length }) => length / 8).sort()).toEqual([1, 4, 6]);
  });

  it('takes two payloads in turn that are no text for none', () => {
    const stream = turnsOf(
      [
        [0, 3, 200, 14, 9, 0, 177, 1],
        [1, 5, 130, 0, 251, 4, 12, 7],
      ],
      300,
    );
    const rows = rowsOfStream(stream);
    expect(textSelector(rows, movedMask(rows), [])).toBeNull();
  });

  it('wants the pages in turn: a state that holds its letters for long is no page', () => {
    const payloads = [
      [0, ...codes('ABKQ720')],
      [1, ...codes('PLM4X9R')],
    ];
    const payload = new Uint8Array(400 * 8);
    for (let row = 0; row < 400; row++) payload.set(payloads[row < 200 ? 0 : 1] as number[], row * 8);
    const rows = rowsOfStream(makeStream(payload, 8));
    expect(textSelector(rows, movedMask(rows), [])).toBeNull();
  });

  it('claims a text that never moves, and no filling of one letter', () => {
    const still = textFields(turnsOf([[0, ...codes('LM3K90B')]], 100));
    expect(still.texts.map(({ lsb, length, when }) => [lsb, length, when])).toEqual([[{ byte: 7, bit: 0 }, 56, null]]);
    expect(textFields(turnsOf([codes('UUUUUUUU')], 100)).texts).toEqual([]);
    expect(textFields(turnsOf([[0x20, 0x41, 7, 0, 0x42, 0x43, 0, 0]], 100)).texts).toEqual([]);
  });

  it('gives a frame that the map accepts and decodes to the text', () => {
    const stream = turnsOf(
      [
        [4, ...codes('ABKQ720')],
        [5, ...codes('PLM4X9R')],
      ],
      300,
    );
    const frame = toMapFrame(findFieldsOfStream(stream, {}), { kind: 'periodic', periodMs: 10, jitterMs: 0.1 });
    const read = compileFrame(frame)
      .decode(stream.payload.subarray(0, 8))
      .signals.map(({ text }) => text);
    expect(read).toEqual(['ABKQ720']);
    expect(frameSchema.safeParse(frame).success).toBe(true);
  });
});

describe('the evidence for text', () => {
  it('is two bits a letter, as letters and digits are 62 of 256 bytes (ISO/IEC 646), and none of few or repeated ones', () => {
    const six = [...'AK3B90'].map((letter) => codes(letter));
    expect(textEvidence(six)).toBeCloseTo(6 * Math.log2(256 / 62), 9);
    expect(isTextEvidence(textEvidence(six))).toBe(true);
    expect(isTextEvidence(textEvidence(six.slice(1)))).toBe(false);
    expect(textEvidence([...'AAABBBCC'].map((letter) => codes(letter)))).toBe(0);
    expect(textEvidence([codes('A'), codes('K'), codes('3'), codes('B'), codes('9'), [7]])).toBe(0);
  });
});
