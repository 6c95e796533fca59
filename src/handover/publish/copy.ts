/**
 * A copy of a capture and its map that may be shown to others: found numbers written over everywhere, guards made anew, then searched again as a whole.
 * What is still found is blanked as well; where something stays that nobody chose to keep, there is no copy.
 */
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import { bad, good, type Outcome, type Problem } from '../../kit/outcome.ts';
import type { SignalMap } from '../../map/schema.ts';
import { blankMap } from './blank-map.ts';
import { blankTable, type BlankedTable } from './blank-frames.ts';
import { findNumbers } from './find.ts';
import { isLongEnough } from './known.ts';
import { CANNOT_FIND, listedFind, listedFrames, type BlankedList } from './list.ts';
import { remaining } from './remaining.ts';
import { secretsOf } from './same-number.ts';
import { textBlanker, type TextBlanker } from './texts.ts';
import { streamKeyText, type BlankRule, type Find, type Search } from './types.ts';

export interface CopyRequest {
  /** Numbers that the person says are theirs. */
  readonly typed: readonly string[];
  /** Finds that the person refuses, by key: they stay as they are. */
  readonly keep: readonly string[];
  /** Finds that are offered only, by key, to be blanked all the same. */
  readonly also: readonly string[];
  /** Times count from zero; days and times of day go. */
  readonly hidesTimes: boolean;
  /** Other texts that are published with it, to look for numbers in. */
  readonly texts: readonly string[];
}

export interface PublishingCopy {
  readonly map: SignalMap;
  readonly table: FrameTable;
  readonly list: BlankedList;
  /** Writes the same numbers over in any other text. */
  readonly blankText: TextBlanker;
  readonly search: Search;
}

const ROUNDS = 3;

const problem = (code: string, message: string, advice: string): Problem => ({ code, message, advice });

function unknownKeys({ finds }: Search, { keep, also }: CopyRequest): Problem | null {
  const known = new Set(finds.map(({ key }) => key));
  const unknown = [...keep, ...also].find((key) => !known.has(key));
  if (unknown === undefined) return null;
  return problem(
    'unknown-find',
    `nothing that was found is called "${unknown}".`,
    `There are: ${[...known].join(', ') || 'no finds'}.`,
  );
}

/** Typed numbers that could be anywhere by chance: to say that they are gone would be untrue. */
function tooShort(typed: readonly string[]): Problem | null {
  const short = typed.findIndex((text) => !isLongEnough(text));
  if (short < 0) return null;
  return problem(
    'number-too-short',
    `number ${short + 1} that you named is too short or too plain to be told from chance.`,
    'Give at least six digits, or four characters of three kinds.',
  );
}

/** A copy as far as it is blanked. */
interface Blanked extends BlankedTable {
  readonly map: SignalMap;
  readonly texts: number;
  readonly restsDropped: readonly string[];
}

const rulesOf = (finds: readonly Find[]): readonly BlankRule[] =>
  finds.flatMap(({ occurrences }) => occurrences.flatMap(({ rules }) => rules));
const allSecrets = (finds: readonly Find[]): readonly string[] => finds.flatMap(secretsOf);

/** Both rounds' counts of a stream as one: frames left out are gone for good, those changed may be changed again. */
function addTallies(before: BlankedTable['tallies'], after: BlankedTable['tallies']): BlankedTable['tallies'] {
  const all = [...before];
  for (const next of after) {
    const at = all.findIndex((each) => streamKeyText(each) === streamKeyText(next));
    const one = all[at];
    if (!one) all.push(next);
    else
      all[at] = {
        ...one,
        changed: Math.max(one.changed, next.changed),
        leftOut: one.leftOut + next.leftOut,
        reason: next.reason ?? one.reason,
      };
  }
  return all;
}

function blanked(before: Blanked, finds: readonly Find[], { hidesTimes }: CopyRequest): Blanked {
  const rules = rulesOf(finds);
  const { table, tallies } = blankTable(before.table, before.map, rules);
  const { map, texts, restsDropped } = blankMap(before.map, rules, allSecrets(finds), hidesTimes);
  return {
    table,
    map,
    tallies: addTallies(before.tallies, tallies),
    texts: before.texts + texts,
    restsDropped: [...before.restsDropped, ...restsDropped],
  };
}

/** Finds the numbers, writes them over and searches the copy. Memory: the streams that change, once more. */
export async function publishingCopy(
  table: FrameTable,
  map: SignalMap,
  request: CopyRequest,
  control: Control = {},
): Promise<Outcome<PublishingCopy>> {
  const short = tooShort(request.typed);
  if (short) return bad(short);
  const { typed, texts } = request;
  const search = await findNumbers(table, map, { typed, texts }, part(control, 0, 0.4));
  const unknown = unknownKeys(search, request);
  if (unknown) return bad(unknown);
  const kept = search.finds.filter(({ key }) => request.keep.includes(key));
  const offered = search.finds.filter(
    ({ key, usual }) => !usual && !request.also.includes(key) && !request.keep.includes(key),
  );
  const finds = search.finds.filter((find) => !kept.includes(find) && !offered.includes(find));
  let made = blanked({ table, map, tallies: [], texts: 0, restsDropped: [] }, finds, request);
  for (let round = 0; round < ROUNDS; round++) {
    const share = (at: number): number => 0.4 + (0.6 * at) / ROUNDS;
    const within = part(control, share(round), share(round + 1));
    const again = await findNumbers(made.table, made.map, { typed: allSecrets(finds) }, within);
    const left = remaining(again, kept, rulesOf(finds));
    if (left.length === 0) return good(copyOf(table, made, finds, kept, offered, search, request));
    // What shows only now stood beside what is gone.
    finds.push(...left.map((find, index) => ({ ...find, key: `${find.kind}-behind-${round + 1}-${index + 1}` })));
    made = blanked(made, left, request);
  }
  return bad(
    problem(
      'still-there',
      'numbers were still found in the copy after they were written over; nothing is written.',
      'Refuse the find with --keep if it is none, or leave those identifiers out of the capture.',
    ),
  );
}

function copyOf(
  table: FrameTable,
  { table: copy, tallies, map, texts, restsDropped }: Blanked,
  finds: readonly Find[],
  kept: readonly Find[],
  offered: readonly Find[],
  search: Search,
  { hidesTimes }: CopyRequest,
): PublishingCopy {
  const sum = (of: (tally: BlankedTable['tallies'][number]) => number): number =>
    tallies.reduce((all, each) => all + of(each), 0);
  const list: BlankedList = {
    blanked: finds.map(listedFind),
    kept: kept.map(listedFind),
    offered: offered.map(listedFind),
    frames: tallies.filter(({ changed, leftOut }) => changed + leftOut > 0).map(listedFrames),
    framesWritten: copy.frameCount,
    framesChanged: sum(({ changed }) => changed),
    framesLeftOut: sum(({ leftOut }) => leftOut),
    remoteFrames: table.remotes.reduce((all, { count }) => all + count, 0),
    errorFrames: table.errors.reduce((all, { count }) => all + count, 0),
    textsChanged: texts,
    restsDropped,
    timesHidden: hidesTimes,
    searched: `${search.tried} runs of characters and ${search.triedDigits} of digits were judged; a find needs more evidence than all of them together yield by chance in one capture of three.`,
    cannotFind: CANNOT_FIND,
  };
  return { map, table: copy, list, blankText: textBlanker(allSecrets(finds)), search };
}
