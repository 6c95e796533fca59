/** Runs of packed decimal digits that may be a number: half of all bytes are such digits, so these need length. */
import { DECIMAL } from './alphabets.ts';
import { isTold, isWordly, stretches, type Candidate } from './candidate.ts';
import { digitBits, isMixed } from './evidence.ts';
import { codesOn, toldOn, type Reading, type Tape } from './tapes.ts';
import type { Tries, TriesCount } from './tries.ts';

const DIGITS_LEAST = 8;
/** Longer runs are tables of values, cell by cell, that happen to have no half byte above nine. */
const DIGITS_MOST = 32;
const DIGIT_KINDS = 5;
/** One value is at most so much of a number: of twelve even digits one in a hundred has more of one. */
const DIGIT_SHARE = 0.45;
/** So much of a text are letters and figures. */
const TEXT_SHARE = 0.9;

/** Letters and figures of ASCII are mostly two decimal half bytes: a text is no number packed so. */
function isText({ inBytes, loose, lsbFirst }: Tape, from: number, to: number): boolean {
  if (!inBytes) return false;
  let [characters, bytes] = [0, 0];
  for (let at = Math.ceil(from / 8) * 8; at + 8 <= to; at += 8) {
    let code = 0;
    for (let step = 0; step < 8; step++) code |= (loose[at + step] as number) << (lsbFirst ? step : 7 - step);
    bytes++;
    if (code === 0x20 || isWordly(String.fromCharCode(code))) characters++;
  }
  return bytes > 0 && characters >= TEXT_SHARE * bytes;
}

function digitTest({ tape: { reach, lsbFirst }, isUsual }: Reading): keyof Tries {
  if (!isUsual) return 'oddDigits';
  if (lsbFirst) return 'swappedDigits';
  return reach === 'frame' ? 'digits' : 'longDigits';
}

/** Judges one tape for packed decimals. Adds to tries. */
export function judgeDigits(reading: Reading, tries: TriesCount, into: Candidate[]): void {
  const { tape } = reading;
  const test = digitTest(reading);
  const codes = codesOn(tape, 4, 0);
  for (const [from, to] of stretches(codes.length, (index) => (codes[index] as number) >= 0, DIGITS_LEAST)) {
    // Only a stretch that says enough could be a find: whether its values are decimal is another question.
    const told = toldOn(tape, [...codes.subarray(from, to)], from * 4, 4).filter(Boolean).length;
    if (
      told >= DIGITS_LEAST &&
      !isText(tape, from * 4, to * 4) &&
      isMixed(codes.subarray(from, to), DIGIT_KINDS, DIGIT_SHARE)
    )
      tries.add(test, codes, from, to);
  }
  const isDigit = (index: number): boolean => (codes[index] as number) >= 0 && (codes[index] as number) < 10;
  for (const [from, to] of stretches(codes.length, isDigit, DIGITS_LEAST)) {
    const own = [...codes.subarray(from, to)];
    // Zeros in front belong to no number in particular; those behind may end it or be empty: they are written over, and judged by no one.
    const first = own.findIndex((code) => code > 0);
    const digits = own.slice(Math.max(0, first));
    const judgedTo = digits.findLastIndex((code) => code > 0) + 1;
    const core = digits.slice(0, judgedTo);
    if (judgedTo < DIGITS_LEAST || judgedTo > DIGITS_MOST || !isMixed(core, DIGIT_KINDS, DIGIT_SHARE)) continue;
    const at = (from + first) * 4;
    if (isText(tape, at, to * 4) || !isTold(tape, core, at, 4)) continue;
    into.push({
      tape,
      alphabet: DECIMAL,
      from: at,
      codes: digits,
      text: core.join(''),
      kind: 'serial-number',
      test,
      bits: digitBits(toldOn(tape, digits, at, 4)),
    });
  }
}
