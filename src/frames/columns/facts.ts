/**
 * What the cells of one column look like over many rows: the measured facts that roles are decided by.
 * Shares are of the cells that are not empty.
 */
import type { Steps } from '../pictures/steps.ts';
import { parseDateStamp, parseTimeOfDay, plainStamp } from '../reading/stamps.ts';
import { parseId, plainId } from './id-text.ts';
import { payloadForms } from './payload-text.ts';
import {
  type HeadingMeaning,
  isClearWord,
  isReceivedWord,
  isSentWord,
  isSetWord,
  frameKindOf,
  meaningOf,
} from './words.ts';

export interface ColumnFacts {
  readonly column: number;
  readonly heading: string;
  readonly meaning: HeadingMeaning | null;
  /** Of all rows. */
  readonly filled: number;
  readonly distinct: number;
  readonly rows: number;
  readonly number: number;
  readonly whole: number;
  readonly date: number;
  readonly timeOfDay: number;
  /** Share of steps between following rows that do not go back; NaN without numbers. */
  readonly rising: number;
  /** Share of steps that are exactly one. */
  readonly counting: number;
  readonly id: number;
  readonly hexLetters: number;
  readonly hexPrefix: number;
  readonly byteHex: number;
  readonly byteDecimal: number;
  readonly payloadHex: number;
  readonly payloadDecimal: number;
  readonly payloadBinary: number;
  /** Mean bytes where read as hex. */
  readonly payloadBytes: number;
  readonly directionWords: number;
  readonly kindWords: number;
  readonly flagWords: number;
  readonly least: number;
  readonly greatest: number;
  readonly cells: readonly string[];
}

const NUMBER = /^[+-]?\d+([.,]\d*)?$/;

export function numberOf(text: string): number {
  return NUMBER.test(text) ? Number(text.replace(',', '.')) : Number.NaN;
}

/** In steps: a column may hold hundreds of cells of long payloads. */
export function* factsOf(column: number, heading: string, cells: readonly string[]): Steps<ColumnFacts> {
  const filled = cells.filter((cell) => cell !== '');
  const stamps = filled.map(plainStamp);
  const share = (holds: (cell: string) => boolean): number =>
    filled.length ? filled.filter(holds).length / filled.length : 0;
  const numbers = cells.map((cell) => numberOf(plainStamp(cell)));
  const ids = filled.map(plainId);
  const idShare = (pattern: RegExp): number =>
    ids.length ? ids.filter((text) => pattern.test(text)).length / ids.length : 0;
  const stampShare = (holds: (cell: string) => boolean): number =>
    stamps.length ? stamps.filter(holds).length / stamps.length : 0;
  const values = numbers.filter((value) => !Number.isNaN(value));
  yield;
  const payloads = filled.map(payloadForms);
  yield;
  const payloadShare = (form: 'hex' | 'decimal' | 'binary', least: number): number =>
    filled.length ? payloads.filter((each) => each[form] >= least && each[form] <= 64).length / filled.length : 0;
  return {
    column,
    heading,
    meaning: meaningOf(heading),
    filled: cells.length ? filled.length / cells.length : 0,
    distinct: new Set(filled).size,
    rows: cells.length,
    number: stampShare((cell) => NUMBER.test(cell)),
    whole: share((cell) => /^[+-]?\d+$/.test(cell)),
    date: stampShare(
      (cell) => parseDateStamp(cell, 0, 'month-first') !== null || parseDateStamp(cell, 0, 'day-first') !== null,
    ),
    timeOfDay: stampShare((cell) => parseTimeOfDay(cell) !== null),
    ...stepsOf(numbers),
    id: share((cell) => typeof parseId(cell, 'hex') !== 'string' || typeof parseId(cell, 'decimal') !== 'string'),
    hexLetters: idShare(/^(0x)?[0-9]*[a-f][0-9a-f]*(h|x)?$/i),
    hexPrefix: idShare(/^0x/i),
    byteHex: share((cell) => /^(0x)?[0-9a-f]{1,2}h?$/i.test(cell)),
    byteDecimal: share((cell) => /^\d{1,3}$/.test(cell) && Number(cell) <= 255),
    payloadHex: payloadShare('hex', 1),
    payloadDecimal: payloadShare('decimal', 1),
    payloadBinary: payloadShare('binary', 1),
    payloadBytes: filled.length ? payloads.reduce((sum, { hex }) => sum + Math.max(hex, 0), 0) / filled.length : 0,
    directionWords: share((cell) => isSentWord(cell) || isReceivedWord(cell)),
    kindWords: share((cell) => frameKindOf(cell) !== null),
    flagWords: share((cell) => isSetWord(cell) || isClearWord(cell)),
    least: values.reduce((a, b) => Math.min(a, b), Infinity),
    greatest: values.reduce((a, b) => Math.max(a, b), -Infinity),
    cells,
  };
}

function stepsOf(numbers: readonly number[]): { rising: number; counting: number } {
  let steps = 0;
  let rising = 0;
  let counting = 0;
  for (let i = 1; i < numbers.length; i++) {
    const step = (numbers[i] as number) - (numbers[i - 1] as number);
    if (Number.isNaN(step)) continue;
    steps++;
    if (step >= 0) rising++;
    if (step === 1) counting++;
  }
  return steps ? { rising: rising / steps, counting: counting / steps } : { rising: Number.NaN, counting: 0 };
}
