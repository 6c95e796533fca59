/** Numbers as they are found, each with how sure that is and why. */
import type { SignalMap } from '../../map/schema.ts';
import type { Answer } from './answers.ts';
import type { Candidate } from './candidate.ts';
import { stringsOf } from './map-strings.ts';
import type { NamedField } from './named.ts';
import { occurrenceOf } from './occurrence.ts';
import { numbersIn } from './texts.ts';
import type { Tries } from './tries.ts';
import type { NumberKind, Occurrence } from './types.ts';
import { holdsCheckDigit } from './vehicle-number.ts';

/** A number before it has its key and all its places. */
export interface Found {
  readonly kind: NumberKind;
  readonly secret: string;
  /** What else it may read. */
  readonly others: string[];
  readonly confidence: number;
  readonly evidenceBits: number | null;
  readonly why: string;
  readonly occurrences: Occurrence[];
  readonly usual: boolean;
}

export const ofAnswer = ({ words, text, occurrence }: Answer): Found => ({
  kind: 'answer',
  secret: text,
  others: [],
  confidence: 0.99,
  evidenceBits: null,
  why: `Answer to the question for: ${words}.`,
  occurrences: [occurrence],
  usual: true,
});

/** null where the capture does not hold it. */
export function ofNamed({ frame, signal, what, values, occurrences }: NamedField): Found | null {
  if (occurrences.length === 0) return null;
  const base = { confidence: 0.9, evidenceBits: null, usual: what === 'number', occurrences: [...occurrences] };
  if (what === 'position')
    return {
      ...base,
      kind: 'position',
      secret: '',
      others: [],
      why: `A position on earth, by its name and unit in the map (${frame}.${signal}); blanked when asked for.`,
    };
  const [secret = '', ...others] = values;
  return { ...base, kind: 'named-in-map', secret, others, why: `The map calls it ${frame}.${signal}.` };
}

const REACH_WORDS = {
  frame: 'in one frame',
  pages: 'over pages of one identifier',
  identifiers: 'over identifiers in a row',
  message: 'in a message of several frames',
  fragment: 'in a part of a message',
} as const;

export function ofCandidate({ tape, alphabet, from, codes, text, kind, bits, test }: Candidate, tries: Tries): Found {
  const looked = Math.log2(Math.max(1, tries[test]));
  const check = kind === 'vehicle-number' && holdsCheckDigit(text) ? ' Its check digit holds.' : '';
  const why = `${codes.length} characters, ${alphabet.name}, ${REACH_WORDS[tape.reach]}, that never change: ${bits.toFixed(1)} bits against chance, of which ${looked.toFixed(1)} go for the ${tries[test]} places looked at.${check}`;
  return {
    kind,
    secret: text,
    others: [],
    // The chance that any of the places shows this by chance, and that what is no number at all looks like one.
    confidence: Math.round(100 * Math.max(0.5, 0.97 - 2 ** (looked - bits))) / 100,
    evidenceBits: bits,
    why,
    occurrences: [occurrenceOf(tape, alphabet, from, codes)],
    usual: true,
  };
}

export function ofTexts(map: SignalMap | null, texts: readonly string[]): Found[] {
  return [...stringsOf(map), ...texts].flatMap(numbersIn).map(({ kind, text }) => ({
    kind,
    secret: text,
    others: [],
    confidence: 0.9,
    evidenceBits: null,
    why: 'It stands in a text, in the shape of such a number or behind a word that says so.',
    occurrences: [],
    usual: true,
  }));
}

export const ofTyped = (secret: string): Found => ({
  kind: 'typed',
  secret,
  others: [],
  confidence: 1,
  evidenceBits: null,
  why: 'You named it.',
  occurrences: [],
  usual: true,
});
