/**
 * Diagnostic answers that hold identity whatever they look like: data identifiers of ISO 14229-1 annex C, information types of SAE J1979 service 09,
 * local identifiers of ISO 14230-3. Their meanings are given from memory of the standards, not checked against them here.
 */
import type { Message } from './messages.ts';
import { occurrenceOfBits } from './occurrence.ts';
import { tapeOf, type ByteRef } from './tapes.ts';
import { fillerOf } from './alphabets.ts';
import type { Occurrence } from './types.ts';
import { VEHICLE_CHARACTERS } from './vehicle-number.ts';

const VEHICLE_WORDS = 'vehicle identification number';
const DATA_IDENTIFIERS: ReadonlyMap<number, string> = new Map([
  [0xf187, 'spare part number'],
  [0xf18b, 'date of manufacture'],
  [0xf18c, 'serial number of the module'],
  [0xf190, VEHICLE_WORDS],
  [0xf191, "vehicle maker's hardware number"],
  [0xf192, "supplier's hardware number"],
  [0xf194, "supplier's software number"],
  [0xf188, "vehicle maker's software number"],
  [0xf198, 'repair shop code or tester serial number'],
  [0xf199, 'date of programming'],
]);

interface Named {
  readonly words: string;
  /** Bytes before the value. */
  readonly head: number;
}

/** What a message answers or writes, or null where it is none of these. */
function namedBy([service, first = 0, second = 0]: readonly number[]): Named | null {
  const isRead = service === 0x62;
  const isWrite = service === 0x2e;
  if (isRead || isWrite) {
    const words = DATA_IDENTIFIERS.get(first * 256 + second);
    return words ? { words, head: 3 } : null;
  }
  if (service === 0x49 && first === 0x02) return { words: VEHICLE_WORDS, head: 3 };
  if (service === 0x5a && first === 0x90) return { words: VEHICLE_WORDS, head: 2 };
  return null;
}

export interface Answer {
  readonly words: string;
  readonly text: string;
  readonly refs: readonly ByteRef[];
  readonly occurrence: Occurrence;
}

const valueOf = ({ cell, byte }: ByteRef): number => cell.value[byte] as number;

/** Characters keep their kind, all other bytes become zero. */
function filledByte(value: number): number {
  const character = String.fromCharCode(value);
  return /^[A-Za-z0-9]$/.test(character)
    ? fillerOf(character).charCodeAt(0)
    : value === 0xff || value === 0x20
      ? value
      : 0;
}

const bitsOf = (value: number): number[] => Array.from({ length: 8 }, (_, bit) => (value >> (7 - bit)) & 1);
const isPrinted = (value: number): boolean => value >= 0x20 && value <= 0x7e;

/** The answer in a message; null where it holds none, or nothing but fillings. */
export function answerOf({ refs, begins }: Message): Answer | null {
  if (!begins) return null;
  const named = namedBy(refs.slice(0, 3).map(valueOf));
  const value = named ? refs.slice(named.head) : [];
  if (!named || value.every((ref) => filledByte(valueOf(ref)) === valueOf(ref))) return null;
  const values = value.map(valueOf);
  const isWritten = values.every((each) => isPrinted(each) || each === 0);
  // Other frames may look like a short answer: a vehicle number has its length, or is text as far as it came.
  if (named.words === VEHICLE_WORDS && values.length < VEHICLE_CHARACTERS && !isWritten) return null;
  const text = isWritten
    ? String.fromCharCode(...values.filter(isPrinted)).trim()
    : values
        .map((each) => each.toString(16).padStart(2, '0'))
        .join('')
        .toUpperCase();
  const occurrence = occurrenceOfBits(tapeOf('message', value, false), 'whole-answer', {
    from: 0,
    was: values.flatMap(bitsOf),
    becomes: values.flatMap((each) => bitsOf(filledByte(each))),
  });
  return { words: named.words, text, refs: value, occurrence };
}
