/** Runs of characters on a tape that may be a number, each with what it speaks against chance; and how many places were looked at. */
import { ALPHABETS, DECIMAL, type Alphabet } from './alphabets.ts';
import { digitBits, isMixed, textBits, vehicleBits } from './evidence.ts';
import { codesOn, toldOn, type Reading, type Tape } from './tapes.ts';
import type { NumberKind } from './types.ts';
import { isVehicleCharacter, VEHICLE_CHARACTERS } from './vehicle-number.ts';

export interface Candidate {
  readonly tape: Tape;
  readonly alphabet: Alphabet;
  /** First bit on the tape. */
  readonly from: number;
  readonly codes: readonly number[];
  readonly text: string;
  readonly kind: Extract<NumberKind, 'vehicle-number' | 'serial-number'>;
  readonly test: keyof Tries;
  readonly bits: number;
}

/** Different contents that each test looked at: the same bits read in two ways are one. */
export interface Tries {
  readonly vehicle: number;
  /** Vehicle numbers of six bits a character: half of all codes are of their alphabet. */
  readonly sixBitVehicle: number;
  readonly serial: number;
  /** Characters that begin within bytes, or have seven bits: far rarer. */
  readonly oddSerial: number;
  /** Stretches of mixed still half bytes of one frame in the usual order; over several; in any other order; each counted apart as some are far more usual. */
  readonly digits: number;
  readonly longDigits: number;
  /** The same with the low half of each byte first. */
  readonly swappedDigits: number;
  readonly oddDigits: number;
}

export class TriesCount implements Tries {
  readonly #seen = new Map<keyof Tries, Set<number>>();

  add(test: keyof Tries, codes: ArrayLike<number>, from: number, to: number): void {
    let hash = 0x811c9dc5;
    for (let at = from; at < to; at++) hash = Math.imul(hash ^ (codes[at] as number), 0x01000193);
    const seen = this.#seen.get(test) ?? new Set();
    this.#seen.set(test, seen.add(hash));
  }

  #of(test: keyof Tries): number {
    return this.#seen.get(test)?.size ?? 0;
  }

  get vehicle(): number {
    return this.#of('vehicle');
  }
  get sixBitVehicle(): number {
    return this.#of('sixBitVehicle');
  }
  get serial(): number {
    return this.#of('serial');
  }
  get oddSerial(): number {
    return this.#of('oddSerial');
  }
  get digits(): number {
    return this.#of('digits');
  }
  get longDigits(): number {
    return this.#of('longDigits');
  }
  get swappedDigits(): number {
    return this.#of('swappedDigits');
  }
  get oddDigits(): number {
    return this.#of('oddDigits');
  }
}

const SERIAL_LEAST = 6;
const SERIAL_MOST = 40;
const SERIAL_DIGITS = 3;
const SERIAL_KINDS = 4;
const DIGITS_LEAST = 8;
/** Longer runs are tables of values, cell by cell, that happen to have no half byte above nine. */
const DIGITS_MOST = 32;
const DIGIT_KINDS = 5;
/** One value is at most so much of a number: of twelve even digits one in thirty has more of one. */
const DIGIT_SHARE = 0.4;
/** Characters that say something; the others are as on a page before, or empty. */
const TOLD_SHARE = 0.6;
const VEHICLE_KINDS = 6;
/** Half of all codes of six bits are characters of such a number: here they must be as different as in one. */
const SIX_BIT_KINDS = 9;

/** Longest stretches of indexes for which `holds`. */
function stretches(length: number, holds: (index: number) => boolean, least: number): [number, number][] {
  const found: [number, number][] = [];
  for (let from = 0; from < length; from++) {
    if (!holds(from)) continue;
    let to = from + 1;
    while (to < length && holds(to)) to++;
    if (to - from >= least) found.push([from, to]);
    from = to;
  }
  return found;
}

const isWordly = (character: string | undefined): boolean => character !== undefined && /^[A-Za-z0-9]$/.test(character);
const isJoint = (character: string | undefined): boolean => character !== undefined && /^[-./_*]$/.test(character);

/** Whether most of the characters say something by themselves: two pages in turn are one text however often they are read. */
const isTold = (tape: Tape, codes: readonly number[], from: number, width: number): boolean =>
  toldOn(tape, codes, from, width).filter(Boolean).length >= TOLD_SHARE * codes.length;

const serialTest = ({ bits }: Alphabet, offset: number): keyof Tries =>
  bits === 8 && offset === 0 ? 'serial' : 'oddSerial';

/** Each number in a text of a serial number's alphabet: letters and digits, single joints between them. */
function judgeSerials(tape: Tape, alphabet: Alphabet, offset: number, codes: Int16Array, into: Candidate[]): void {
  const character = (index: number): string | undefined => alphabet.characters[codes[index] as number];
  const holds = (index: number): boolean =>
    isWordly(character(index)) ||
    (isJoint(character(index)) && isWordly(character(index - 1)) && isWordly(character(index + 1)));
  for (const [from, to] of stretches(codes.length, holds, SERIAL_LEAST)) {
    const own = [...codes.subarray(from, Math.min(to, from + SERIAL_MOST))];
    const text = own.map((code) => alphabet.characters[code]).join('');
    if ((text.match(/\d/g) ?? []).length < SERIAL_DIGITS || !isMixed(own, SERIAL_KINDS)) continue;
    if (!isTold(tape, own, offset + from * alphabet.bits, alphabet.bits)) continue;
    const bits = textBits(text, toldOn(tape, own, offset + from * alphabet.bits, alphabet.bits), alphabet.bits);
    into.push({
      tape,
      alphabet,
      from: offset + from * alphabet.bits,
      codes: own,
      text,
      kind: 'serial-number',
      test: serialTest(alphabet, offset),
      bits,
    });
  }
}

function judgeVehicles(
  tape: Tape,
  alphabet: Alphabet,
  offset: number,
  codes: Int16Array,
  tries: TriesCount,
  into: Candidate[],
): void {
  const { bits: width, characters } = alphabet;
  const kinds = width === 6 ? SIX_BIT_KINDS : VEHICLE_KINDS;
  const test = width === 6 ? 'sixBitVehicle' : 'vehicle';
  const fits = (index: number): boolean => isVehicleCharacter(characters[codes[index] as number] ?? '');
  for (const [from, to] of stretches(codes.length, fits, VEHICLE_CHARACTERS))
    for (let at = from; at + VEHICLE_CHARACTERS <= to; at++) {
      const own = [...codes.subarray(at, at + VEHICLE_CHARACTERS)];
      if (new Set(own).size < kinds) continue;
      const text = own.map((code) => characters[code]).join('');
      const start = offset + at * width;
      if (!isTold(tape, own, start, width)) continue;
      const bits = vehicleBits(text, toldOn(tape, own, start, width), width);
      if (bits > 0) into.push({ tape, alphabet, from: start, codes: own, text, kind: 'vehicle-number', test, bits });
    }
  countWindows(test, codes, VEHICLE_CHARACTERS, kinds, tries);
}

/** Counts windows of still codes mixed enough to be anything. */
function countWindows(test: keyof Tries, codes: Int16Array, length: number, kinds: number, tries: TriesCount): void {
  for (const [from, to] of stretches(codes.length, (index) => (codes[index] as number) >= 0, length)) {
    const counts = new Uint8Array(256);
    let different = 0;
    for (let at = from; at < to; at++) {
      if (counts[codes[at] as number]!++ === 0) different++;
      if (at - from >= length && --counts[codes[at - length] as number]! === 0) different--;
      if (at - from >= length - 1 && different >= kinds) tries.add(test, codes, at - length + 1, at + 1);
    }
  }
}

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
const TEXT_SHARE = 0.9;

function digitTest({ tape: { reach, lsbFirst }, isUsual }: Reading): keyof Tries {
  if (!isUsual) return 'oddDigits';
  if (lsbFirst) return 'swappedDigits';
  return reach === 'frame' ? 'digits' : 'longDigits';
}

function judgeDigits(reading: Reading, tries: TriesCount, into: Candidate[]): void {
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
    // Zeros in front belong to no number in particular.
    const first = own.findIndex((code) => code > 0);
    if (first < 0 || own.length - first < DIGITS_LEAST || !isMixed(own.slice(first), DIGIT_KINDS, DIGIT_SHARE))
      continue;
    const digits = own.slice(first);
    const at = (from + first) * 4;
    if (digits.length > DIGITS_MOST) continue;
    if (isText(tape, at, to * 4) || !isTold(tape, digits, at, 4)) continue;
    into.push({
      tape,
      alphabet: DECIMAL,
      from: at,
      codes: digits,
      text: digits.join(''),
      kind: 'serial-number',
      test,
      bits: digitBits(toldOn(tape, digits, at, 4)),
    });
  }
}

/** Whether alphabets may begin at any bit: else characters begin with bytes. */
function offsetsOf(tape: Tape, { bits }: Alphabet, anywhere: boolean): readonly number[] {
  if (bits === 8 && tape.inBytes && !anywhere) return [0];
  return Array.from({ length: bits }, (_, offset) => offset);
}

/**
 * Judges one tape in all alphabets. Adds to tries.
 */
export function judgeTape(reading: Reading, tries: TriesCount): readonly Candidate[] {
  const { tape, anywhere } = reading;
  const into: Candidate[] = [];
  for (const alphabet of ALPHABETS) {
    if (alphabet.bits === 4 || (alphabet.bits < 8 && !anywhere)) continue;
    for (const offset of offsetsOf(tape, alphabet, anywhere)) {
      // Whole bytes read from their other end are the same characters again.
      if (alphabet.bits === 8 && tape.inBytes && tape.lsbFirst && offset === 0) continue;
      const codes = codesOn(tape, alphabet.bits, offset);
      judgeVehicles(tape, alphabet, offset, codes, tries, into);
      if (alphabet.bits < 7) continue;
      countWindows(serialTest(alphabet, offset), codes, SERIAL_LEAST, SERIAL_KINDS, tries);
      judgeSerials(tape, alphabet, offset, codes, into);
    }
  }
  if (reading.holdsDigits) judgeDigits(reading, tries, into);
  return into;
}

/** Chance finds to be expected over a whole capture, by test: together one in three captures. */
const CHANCE: Readonly<Record<keyof Tries, number>> = {
  vehicle: 1 / 50,
  sixBitVehicle: 1 / 16,
  serial: 1 / 50,
  oddSerial: 1 / 400,
  digits: 1 / 10,
  longDigits: 1 / 10,
  swappedDigits: 1 / 10,
  oddDigits: 1 / 16,
};

/** A capture of few identifiers is no better evidence: of others like it, some would show the same. */
const TRIES_LEAST = 16;

/** Bits that a candidate needs. */
export const bitsNeeded = (test: keyof Tries, tries: Tries): number =>
  Math.log2(Math.max(TRIES_LEAST, tries[test])) - Math.log2(CHANCE[test]);
