/** Runs of characters on a tape that may be a number, each with what it speaks against chance; and how many places were looked at. */
import { ALPHABETS, type Alphabet } from './alphabets.ts';
import { isTold, isWordly, stretches, type Candidate } from './candidate.ts';
import { judgeDigits } from './digits.ts';
import { isMixed, textBits, vehicleBits } from './evidence.ts';
import { codesOn, toldOn, type Reading, type Tape } from './tapes.ts';
import type { Tries, TriesCount } from './tries.ts';
import { isVehicleCharacter, VEHICLE_CHARACTERS } from './vehicle-number.ts';

const SERIAL_LEAST = 6;
const SERIAL_MOST = 40;
const SERIAL_DIGITS = 3;
/** Different characters; of ten digits eight are of three kinds once in a hundred times. */
const SERIAL_KINDS = 4;
const LONG_SERIAL = 8;
const LONG_SERIAL_KINDS = 3;
const VEHICLE_KINDS = 6;
/** Half of all codes of six bits are characters of such a number: here they must be as different as in one. */
const SIX_BIT_KINDS = 9;

const isJoint = (character: string): boolean => /^[-./_*]$/.test(character);

/** [codes] of each alphabet that are of a class. */
const codesThat = (is: (character: string) => boolean): ReadonlyMap<Alphabet, readonly boolean[]> =>
  new Map(ALPHABETS.map((alphabet) => [alphabet, alphabet.characters.map(is)]));
const OF_WORDS = codesThat(isWordly);
const OF_JOINTS = codesThat(isJoint);
const OF_VEHICLES = codesThat(isVehicleCharacter);

const serialTest = ({ bits }: Alphabet, offset: number): keyof Tries =>
  bits === 8 && offset === 0 ? 'serial' : 'oddSerial';

const kindsOf = (length: number): number => (length < LONG_SERIAL ? SERIAL_KINDS : LONG_SERIAL_KINDS);

/** Each number in a text of a serial number's alphabet: letters and digits, single joints between them. */
function judgeSerials(tape: Tape, alphabet: Alphabet, offset: number, codes: Int16Array, into: Candidate[]): void {
  const [words, joints] = [OF_WORDS.get(alphabet), OF_JOINTS.get(alphabet)];
  const isWord = (index: number): boolean => words?.[codes[index] as number] === true;
  const holds = (index: number): boolean =>
    isWord(index) || (joints?.[codes[index] as number] === true && isWord(index - 1) && isWord(index + 1));
  for (const [from, to] of stretches(codes.length, holds, SERIAL_LEAST)) {
    const own = [...codes.subarray(from, Math.min(to, from + SERIAL_MOST))];
    const text = own.map((code) => alphabet.characters[code]).join('');
    if ((text.match(/\d/g) ?? []).length < SERIAL_DIGITS || !isMixed(own, kindsOf(own.length))) continue;
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
  { tape, isUsual }: Reading,
  alphabet: Alphabet,
  offset: number,
  codes: Int16Array,
  tries: TriesCount,
  into: Candidate[],
): void {
  const { bits: width, characters } = alphabet;
  const kinds = width === 6 ? SIX_BIT_KINDS : VEHICLE_KINDS;
  const sixBits = isUsual && !tape.lsbFirst ? 'sixBitVehicle' : 'oddSixBitVehicle';
  const test = width === 6 ? sixBits : 'vehicle';
  const isOf = OF_VEHICLES.get(alphabet);
  const fits = (index: number): boolean => isOf?.[codes[index] as number] === true;
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
      judgeVehicles(reading, alphabet, offset, codes, tries, into);
      if (alphabet.bits < 7) continue;
      countWindows(serialTest(alphabet, offset), codes, SERIAL_LEAST, SERIAL_KINDS, tries);
      judgeSerials(tape, alphabet, offset, codes, into);
    }
  }
  if (reading.holdsDigits) judgeDigits(reading, tries, into);
  return into;
}
