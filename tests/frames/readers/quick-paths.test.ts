/**
 * Lines of the usual shape are taken by loops over bytes that find the line end themselves; in slices of
 * a few bytes no such loop ever sees a whole line, and every line goes through the written-out grammar.
 * Both must give the same table and the same account, whatever stands between.
 */
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { pictureOf, readBytes, reportOf } from './reading.ts';

const LINES = 600;
const hex = (value: number, digits = 2): string => value.toString(16).toUpperCase().padStart(digits, '0');
const bytesOf = (random: Random, most = 8): string[] =>
  Array.from({ length: random.below(most + 1) }, () => hex(random.below(256)));

type Shape = (random: Random, stamp: string) => string;

const idOf = (random: Random): string =>
  random.below(4) === 0 ? hex(0x18ff0000 + random.below(4), 8) : hex(0x100 + random.below(6), 3);

const SHAPES: Readonly<Record<string, Shape>> = {
  'log lines': (random, stamp) =>
    `(${stamp}) can${random.below(2)} ${idOf(random)}#${bytesOf(random).join('')}${['', '', ' R', ' T'][random.below(4)]}`,
  'screen lines': (random, stamp) => {
    const bytes = bytesOf(random);
    const behind = random.below(3) === 0 && bytes.length > 0 ? "   'text'" : '';
    return ` (${stamp})  can${random.below(2)}  ${idOf(random)}   [${bytes.length}]  ${bytes.join(' ')}${behind}`.trimEnd();
  },
  'a table with commas': (random, stamp) => {
    const bytes = ['11', ...bytesOf(random, 7)];
    return `${stamp},can${random.below(2)},${idOf(random)},${bytes.length},${bytes.join(random.below(2) ? ' ' : '')}`;
  },
  'a table with blanks': (random, stamp) => {
    const bytes = ['AB', ...bytesOf(random, 7)];
    return `${stamp}  ${1 + random.below(2)}  ${idOf(random)}  ${bytes.length}  ${bytes.join(' ')}`;
  },
};

const ODD = [
  '',
  '# a remark',
  'no frame at all',
  '(1.5) can0 12#',
  '(1.500000) can0 7FF#0',
  '0.5,can0,"1A0",2,"11 22"',
  '0.5,can0,1A0,9,11',
  '(2.000000) can1 100#1122334455667788_9',
  '(2.000000) can1 101##1112233445566778899AABBCC',
  'x'.repeat(300),
];
const ENDS = ['\n', '\n', '\n', '\r\n', '\r'];

function textOf(shape: Shape, seed: string): string {
  const random = createRandom(seed);
  let us = 1_000_000;
  let text = '';
  for (let i = 0; i < LINES; i++) {
    us += random.below(4000);
    const isOdd = random.below(12) === 0;
    text += (isOdd ? ODD[random.below(ODD.length)] : shape(random, (us / 1e6).toFixed(6))) ?? '';
    text += ENDS[random.below(ENDS.length)];
  }
  return text;
}

function accountOf(table: FrameTable): unknown {
  const { lines, accepted, rejected, passedOver, rejects, rejectReasons, outOfOrder, columns } = reportOf(table);
  const account = { lines, accepted, rejected, passedOver, rejects, rejectReasons, outOfOrder, columns };
  return { ...account, remotes: table.remotes, frames: pictureOf(table) };
}

describe.each(Object.entries(SHAPES))('%s, in one piece and in slices of a few bytes', (_name, shape) => {
  it.each(['one', 'two', 'three', 'four'])('agree (seed %s)', async (seed) => {
    const text = textOf(shape, seed);
    const whole = accountOf(await readBytes(text));
    expect(accountOf(await readBytes(text, { sliceBytes: 13 }))).toEqual(whole);
    expect(accountOf(await readBytes(text, { sliceBytes: 997 }))).toEqual(whole);
    expect(whole).toMatchObject({ lines: (text.match(/\r\n|\r|\n/g) ?? []).length });
  });
});
