/**
 * Finds the numbers by which a vehicle, a module or its owner can be told, in a capture and its map: asked for in diagnostics, named by the map,
 * typed by the person, and constant texts and digits that are hardly chance over all that was looked at. Whatever was found is then looked for in every packing.
 */
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import type { SignalMap } from '../../map/schema.ts';
import { answerOf } from './answers.ts';
import { chosen, judged } from './chosen.ts';
import { Claims } from './claims.ts';
import { everywhere } from './everywhere.ts';
import { ofAnswer, ofCandidate, ofNamed, ofTexts, ofTyped, type Found } from './found.ts';
import { namedFields } from './named.ts';
import { layReadings } from './readings.ts';
import { isSameNumber, secretsOf, standTogether } from './same-number.ts';
import type { Find, NumberKind, Occurrence, Search } from './types.ts';

export interface SearchOptions {
  /** Numbers that the person says are theirs. */
  readonly typed: readonly string[];
  /** More texts that will be published: file names, notes of marks, names of references. */
  readonly texts?: readonly string[];
}

function addTo(all: Found[], next: Found): void {
  const same = all.find(
    (each) =>
      each.kind !== 'position' &&
      secretsOf(each).some((one) => secretsOf(next).some((other) => isSameNumber(one, other))),
  );
  if (same) takeIn(same, next);
  else all.push(next);
}

function takeIn(into: Found, { secret, others, occurrences }: Found): void {
  into.occurrences.push(...occurrences);
  for (const each of secretsOf({ secret, others })) if (!secretsOf(into).includes(each)) into.others.push(each);
}

/**
 * One number is one find, in however many ways its bits may be read; a reading over several fields or pages joins what these hold. What is only offered
 * stays by itself.
 */
function merged(found: readonly Found[]): readonly Found[] {
  let all: Found[] = [];
  for (const next of found) {
    const [first, ...more] = next.usual
      ? all.filter((each) => each.usual && standTogether(each.occurrences, next.occurrences))
      : [];
    if (!first) {
      all.push(next);
      continue;
    }
    for (const each of [next, ...more]) takeIn(first, each);
    all = all.filter((each) => !more.includes(each));
  }
  return all;
}

/** Each place of each number once. */
function distinct(occurrences: readonly Occurrence[]): Occurrence[] {
  return [...new Map(occurrences.map((each) => [JSON.stringify(each.rules), each])).values()];
}

function keyed(found: readonly Found[]): readonly Find[] {
  const counts = new Map<NumberKind, number>();
  return found.map((each) => {
    const number = (counts.get(each.kind) ?? 0) + 1;
    counts.set(each.kind, number);
    return { key: `${each.kind}-${number}`, ...each, occurrences: distinct(each.occurrences) };
  });
}

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
  for (const field of namedFields(table, map)) {
    const named = ofNamed(field);
    if (named) addTo(found, named);
  }
  for (const candidate of chosen(candidates, tries, claims)) addTo(found, ofCandidate(candidate, tries));
  for (const each of ofTexts(map, texts)) addTo(found, each);
  await everywhere(table, readings, found, part(control, 0.7, 1));
  return {
    finds: keyed(merged(found)),
    tried: tries.vehicle + tries.sixBitVehicle + tries.oddSixBitVehicle + tries.serial + tries.oddSerial,
    triedDigits: tries.digits + tries.longDigits + tries.swappedDigits + tries.oddDigits,
  };
}
