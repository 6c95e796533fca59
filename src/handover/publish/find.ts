/**
 * Finds the numbers by which a vehicle, a module or its owner can be told, in a capture and its map: asked for in diagnostics, named by the map,
 * typed by the person, and constant texts and digits that are hardly chance over all that was looked at. Whatever was found is then looked for in every packing.
 */
import type { FrameTable } from '../../frames/table.ts';
import { checkpoint, part, type Control } from '../../kit/control.ts';
import type { SignalMap } from '../../map/schema.ts';
import { answerOf, type Answer } from './answers.ts';
import { bitsNeeded, judgeTape, TriesCount, type Candidate, type Tries } from './candidates.ts';
import { Claims } from './claims.ts';
import { FrameScan } from './frame-scan.ts';
import { TapeSearch, type Seen } from './known.ts';
import { stringsOf } from './map-strings.ts';
import { namedFields, type NamedField } from './named.ts';
import { occurrenceOf } from './occurrence.ts';
import { layReadings, type Readings } from './readings.ts';
import { numbersIn } from './texts.ts';
import type { Find, NumberKind, Occurrence, Search } from './types.ts';
import { holdsCheckDigit } from './vehicle-number.ts';

export interface SearchOptions {
  /** Numbers that the person says are theirs. */
  readonly typed: readonly string[];
  /** More texts that will be published: file names, notes of marks, names of references. */
  readonly texts?: readonly string[];
}

/** A number before it has its key and all its places. */
interface Found {
  readonly kind: NumberKind;
  readonly secret: string;
  readonly confidence: number;
  readonly evidenceBits: number | null;
  readonly why: string;
  readonly occurrences: Occurrence[];
  readonly usual: boolean;
}

const plainOf = (secret: string): string => secret.replace(/[^A-Za-z0-9]/g, '').toUpperCase();
const MERGED_LEAST = 6;

/** Whether one number is the other, or stands in it. */
export function isSameNumber(one: string, other: string): boolean {
  const [a, b] = [plainOf(one), plainOf(other)];
  if (a === b) return true;
  return Math.min(a.length, b.length) >= MERGED_LEAST && (a.includes(b) || b.includes(a));
}

function addTo(all: Found[], next: Found): void {
  const same = all.find(
    ({ kind, secret }) => kind !== 'position' && next.secret !== '' && isSameNumber(secret, next.secret),
  );
  if (same) same.occurrences.push(...next.occurrences);
  else all.push(next);
}

const ofAnswer = ({ words, text, occurrence }: Answer): Found => ({
  kind: 'answer',
  secret: text,
  confidence: 0.99,
  evidenceBits: null,
  why: `Answer to the question for: ${words}.`,
  occurrences: [occurrence],
  usual: true,
});

function ofNamed({ frame, signal, what, values, occurrences }: NamedField): Found[] {
  const base = { confidence: 0.9, evidenceBits: null, usual: what === 'number' };
  const why =
    what === 'number'
      ? `The map calls it ${frame}.${signal}.`
      : `A position on earth, by its name and unit in the map (${frame}.${signal}); blanked when asked for.`;
  if (what === 'position')
    return occurrences.length > 0
      ? [{ ...base, kind: 'position', secret: '', why, occurrences: [...occurrences] }]
      : [];
  const secrets = values.length > 0 ? values : [''];
  return occurrences.length === 0
    ? []
    : secrets.map((secret, index) => ({
        ...base,
        kind: 'named-in-map',
        secret,
        why,
        occurrences: index === 0 ? [...occurrences] : [],
      }));
}

const REACH_WORDS = {
  frame: 'in one frame',
  pages: 'over pages of one identifier',
  identifiers: 'over identifiers in a row',
  message: 'in a message of several frames',
  fragment: 'in a part of a message',
} as const;

function ofCandidate({ tape, alphabet, from, codes, text, kind, bits, test }: Candidate, tries: Tries): Found {
  const looked = Math.log2(Math.max(1, tries[test]));
  const check = kind === 'vehicle-number' && holdsCheckDigit(text) ? ' Its check digit holds.' : '';
  const why = `${codes.length} characters, ${alphabet.name}, ${REACH_WORDS[tape.reach]}, that never change: ${bits.toFixed(1)} bits against chance, of which ${looked.toFixed(1)} go for the ${tries[test]} places looked at.${check}`;
  return {
    kind,
    secret: text,
    // The chance that any of the places shows this by chance, and that what is no number at all looks like one.
    confidence: Math.round(100 * Math.max(0.5, 0.97 - 2 ** (looked - bits))) / 100,
    evidenceBits: bits,
    why,
    occurrences: [occurrenceOf(tape, alphabet, from, codes)],
    usual: true,
  };
}

/** Of two readings of the same bits, a vehicle number is the more likely one by as much. */
const VEHICLE_FIRST = 10;

/** What the capture shows by itself: the strongest first, each bit claimed once. */
function chosen(candidates: readonly Candidate[], tries: Tries, claims: Claims): readonly Candidate[] {
  const enough = candidates.filter(({ test, bits }) => bits >= bitsNeeded(test, tries));
  const order = (candidate: Candidate): number =>
    (candidate.kind === 'vehicle-number' ? VEHICLE_FIRST : 0) + candidate.bits - bitsNeeded(candidate.test, tries);
  return enough.sort((a, b) => order(b) - order(a)).filter((candidate) => claims.take(candidate));
}

async function judged({ readings }: Readings, control: Control): Promise<{ candidates: Candidate[]; tries: Tries }> {
  const tries = new TriesCount();
  const candidates: Candidate[] = [];
  for (const [index, reading] of readings.entries()) {
    if (index % 64 === 0) await checkpoint(control, index / readings.length, 'judging what never changes');
    candidates.push(...judgeTape(reading, tries));
  }
  return { candidates, tries };
}

/** Each place of each number once. */
function distinct(occurrences: readonly Occurrence[]): Occurrence[] {
  return [...new Map(occurrences.map((each) => [JSON.stringify(each.rules), each])).values()];
}

/** Looks for numbers that are known, in every packing. */
async function everywhere(
  table: FrameTable,
  { readings }: Readings,
  found: readonly Found[],
  control: Control,
): Promise<void> {
  const known = found.filter(({ secret }) => secret !== '');
  const secrets = known.map(({ secret }) => secret);
  const add = ({ number, occurrence }: Seen): unknown => known[number]?.occurrences.push(occurrence);
  const tapes = new TapeSearch(secrets);
  for (const [index, { tape, anywhere }] of readings.entries()) {
    if (index % 64 === 0) await checkpoint(control, (0.5 * index) / readings.length, EVERYWHERE);
    tapes.on(tape, anywhere).forEach(add);
  }
  const scan = new FrameScan(secrets);
  for (const [index, stream] of table.streams.entries()) {
    await checkpoint(control, 0.5 + (0.5 * index) / table.streams.length, EVERYWHERE);
    scan.inStream(stream).forEach(add);
  }
}
const EVERYWHERE = 'looking for what was found in every packing';

function keyed(found: readonly Found[]): readonly Find[] {
  const counts = new Map<NumberKind, number>();
  return found.map((each) => {
    const number = (counts.get(each.kind) ?? 0) + 1;
    counts.set(each.kind, number);
    return { key: `${each.kind}-${number}`, ...each, occurrences: distinct(each.occurrences) };
  });
}

function ofTexts(map: SignalMap | null, texts: readonly string[]): Found[] {
  return [...stringsOf(map), ...texts].flatMap(numbersIn).map(({ kind, text }) => ({
    kind,
    secret: text,
    confidence: 0.9,
    evidenceBits: null,
    why: 'It stands in a text, in the shape of such a number or behind a word that says so.',
    occurrences: [],
    usual: true,
  }));
}

const ofTyped = (secret: string): Found => ({
  kind: 'typed',
  secret,
  confidence: 1,
  evidenceBits: null,
  why: 'You named it.',
  occurrences: [],
  usual: true,
});

/** Searches a capture and its map. Linear in frames for each place that may number pages. */
export async function findNumbers(
  table: FrameTable,
  map: SignalMap | null,
  { typed, texts = [] }: SearchOptions,
  control: Control = {},
): Promise<Search> {
  const readings = await layReadings(table, map, part(control, 0, 0.5));
  const { candidates, tries } = await judged(readings, part(control, 0.5, 0.7));
  const found: Found[] = typed.map(ofTyped);
  const claims = new Claims();
  for (const message of readings.messages) {
    const answer = answerOf(message);
    if (!answer) continue;
    claims.hold(answer.refs);
    addTo(found, ofAnswer(answer));
  }
  for (const field of namedFields(table, map)) for (const each of ofNamed(field)) addTo(found, each);
  for (const candidate of chosen(candidates, tries, claims)) addTo(found, ofCandidate(candidate, tries));
  for (const each of ofTexts(map, texts)) addTo(found, each);
  await everywhere(table, readings, found, part(control, 0.7, 1));
  return {
    finds: keyed(found),
    tried: tries.vehicle + tries.sixBitVehicle + tries.serial + tries.oddSerial,
    triedDigits: tries.digits + tries.longDigits + tries.swappedDigits + tries.oddDigits,
  };
}
