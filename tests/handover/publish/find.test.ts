/** Numbers in captures written by hand: each way of packing, and what must not be taken for one. */
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { findNumbers } from '../../../src/handover/publish/find.ts';
import { checkDigitOf, hasVehicleShape, holdsCheckDigit } from '../../../src/handover/publish/vehicle-number.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import { tableOfLines, type LogLine } from '../../support/log-table.ts';

const hex = (text: string): string => Buffer.from(text, 'latin1').toString('hex');

/** Payloads of one identifier in turn, forty times, beside one that moves. */
async function turns(id: string, payloads: readonly string[]): Promise<FrameTable> {
  const lines: LogLine[] = [];
  for (let at = 0; at < 40 * payloads.length; at++) {
    lines.push([at * 0.01, id, payloads[at % payloads.length] as string]);
    lines.push([
      at * 0.01 + 0.003,
      '0C0',
      `00${(at % 256).toString(16).padStart(2, '0')}${((at * 37) % 256).toString(16).padStart(2, '0')}00`,
    ]);
  }
  return tableOfLines(lines);
}

// Invented; the check digit (ninth) worked out by hand after 49 CFR 565.15(c): 8*2+7*9+...; see the test of it below.
const VEHICLE = '2X9KB7R3XPT104417';

describe('vehicle numbers', () => {
  it('has the check digit of the worked example of 49 CFR 565.15 (1M8GDM9A_KP042788: X)', () => {
    expect(checkDigitOf('1M8GDM9A0KP042788')).toBe('X');
    expect(holdsCheckDigit('1M8GDM9AXKP042788')).toBe(true);
    expect(holdsCheckDigit('1M8GDM9A1KP042788')).toBe(false);
  });

  it('keeps to the alphabet of ISO 3779: no I, O or Q, and 17 characters', () => {
    expect(hasVehicleShape(VEHICLE)).toBe(true);
    expect(hasVehicleShape(VEHICLE.replace('X', 'O'))).toBe(false);
    expect(hasVehicleShape(VEHICLE.slice(1))).toBe(false);
  });
});

const found = async (table: FrameTable, typed: readonly string[] = []) => findNumbers(table, null, { typed });
const secrets = async (table: FrameTable): Promise<string[]> => (await found(table)).finds.map(({ secret }) => secret);

describe('numbers that nobody named', () => {
  it('finds text over pages, in the order of the pages', async () => {
    const pages = [0, 1, 2].map((page) => `0${page}${hex(VEHICLE.slice(page * 7, page * 7 + 7)).padEnd(14, '0')}`);
    expect(await secrets(await turns('3A1', pages))).toEqual([VEHICLE]);
  });

  it('takes a column with one character on all pages for a part of the text, at its edges too', async () => {
    // Rows of seven from a drawn number: the first column is W on both pages, the last 7.
    const text = 'WKR8847W025137';
    const pages = [0, 1].map((page) => `0${page}${hex(text.slice(page * 7, page * 7 + 7))}`);
    const { finds } = await found(await turns('3A1', pages));
    expect(finds.map(({ secret }) => secret)).toEqual([text]);
    const written = finds[0]?.occurrences.flatMap(({ rules }) => rules.flatMap(({ writes }) => writes)) ?? [];
    for (let byte = 1; byte <= 7; byte++)
      expect(written.some((each) => each.byte === byte && each.mask === 255)).toBe(true);
  });

  it('takes no run of digits for a number where half bytes are mostly digits', async () => {
    const random = createRandom(20);
    const pages = Array.from(
      { length: 12 },
      (_, page) => `0${page.toString(16)}${Array.from({ length: 14 }, () => random.below(11).toString(16)).join('')}`,
    );
    expect(await secrets(await turns('3A1', pages))).toEqual([]);
  });

  it('calls a number that the map names, and that is read in its bits, one find', async () => {
    const pages = [0, 1].map((page) => `0${page}${hex('KR88402517WX36'.slice(page * 7, page * 7 + 7))}`);
    const frame = aFrame({
      id: '0x3A1',
      selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })],
      signals: [0, 1].map((page) =>
        aSignal({
          ...{ name: `serial_${page}`, lsb: { byte: 7, bit: 0 }, length: 56, order: 'big', coding: 'text' },
          ...{ kind: 'text', when: { page: [page] } },
        }),
      ),
    });
    const { finds } = await findNumbers(await turns('3A1', pages), aMap([frame]), { typed: [] });
    expect(finds.filter(({ occurrences }) => occurrences.length > 0).length).toBe(1);
  });

  it('finds text over identifiers in a row', async () => {
    const lines: LogLine[] = [];
    for (let at = 0; at < 30; at++)
      for (const part of [0, 1, 2])
        lines.push([at + part / 10, `3A${part}`, hex(VEHICLE.slice(part * 8, part * 8 + 8)).padEnd(16, '0')]);
    expect(await secrets(await tableOfLines(lines))).toEqual([VEHICLE]);
  });

  it('finds a serial number in one long frame', async () => {
    const payload = `0102${hex('KR8840251736')}${'00'.repeat(6)}`;
    expect(await secrets(await turns('3A1', [payload]))).toEqual(['KR8840251736']);
  });

  it('finds the rest of an answer whose first frame is missing', async () => {
    const table = await tableOfLines([
      [1, '7E8', `21${hex(VEHICLE.slice(3, 10))}`],
      [1.01, '7E8', `22${hex(VEHICLE.slice(10, 17))}`],
    ]);
    expect(await secrets(table)).toEqual([VEHICLE.slice(3)]);
  });

  it('takes the answer to a question for identity whatever it looks like (ISO 14229-1, from memory: F18C)', async () => {
    const table = await tableOfLines([
      [1, '7E0', '0322F18C00000000'],
      [1.01, '7E8', '0762F18C9A3B01FE'],
    ]);
    const { finds } = await found(table);
    expect(finds.map(({ kind, secret }) => [kind, secret])).toEqual([['answer', '9A3B01FE']]);
  });

  it('takes no words, no round figures and nothing that moves', async () => {
    expect(await secrets(await turns('3A1', [`00${hex('MASTER ')}`]))).toEqual([]);
    expect(await secrets(await turns('3A1', ['1000200030004000']))).toEqual([]);
    expect(
      await secrets(
        await turns(
          '3A1',
          Array.from({ length: 30 }, (_, at) => hex(String(10000000 + at * 7919))),
        ),
      ),
    ).toEqual([]);
  });
});

describe('numbers that a person named', () => {
  const TYPED = '480417352';
  const packings: Readonly<Record<string, string>> = {
    text: hex(TYPED).slice(0, 16),
    'text backward': hex([...TYPED].reverse().join('')).slice(0, 16),
    'packed decimals': '0480417352000000',
    'packed decimals, low half first': '8440715302000000',
    'binary, most significant byte first': `00${(480417352).toString(16).padStart(8, '0')}000000`,
    'binary, least significant byte first': `${Buffer.from(Uint32Array.of(480417352).buffer).toString('hex')}00000000`,
    'seven bits a character': Buffer.from(
      Uint8Array.from(
        [...TYPED]
          .map((c) => c.charCodeAt(0).toString(2).padStart(7, '0'))
          .join('')
          .padEnd(64, '0')
          .match(/.{8}/g) ?? [],
        (bits) => parseInt(bits, 2),
      ),
    ).toString('hex'),
  };
  it.each(Object.entries(packings))('finds it as %s', async (_name, payload) => {
    const { finds } = await found(await turns('3A1', [payload]), [TYPED]);
    const [typed] = finds.filter(({ kind }) => kind === 'typed');
    expect(typed?.occurrences.length).toBeGreaterThan(0);
  });

  it('finds four bytes of it in frames that change otherwise', async () => {
    const payloads = Array.from(
      { length: 50 },
      (_, at) => `${at.toString(16).padStart(2, '0')}${hex('WX-48041').slice(0, 14)}`,
    );
    const { finds } = await found(await turns('3A1', payloads), ['WX-48041']);
    expect(finds[0]?.occurrences.length).toBeGreaterThan(0);
  });

  it('says so where it is nowhere', async () => {
    const { finds } = await found(await turns('3A1', ['A0F1B2C3DDE5E6F7']), [TYPED]);
    expect(finds.map(({ key, occurrences }) => [key, occurrences.length])).toEqual([['typed-1', 0]]);
  });
});
