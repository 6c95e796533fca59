/** What is read before anything is sent: the usual cautions, what this very set of frames gives reason to add, and a phrase to type that names what is about to be sent. */
import { frameKey } from '../../map/identifiers.ts';
import { seedOf } from '../../kit/random.ts';
import type { SignalMap } from '../../map/schema.ts';
import { cautionsFor } from '../cautions.ts';
import { calledFrame, type GoingFrame } from './choice.ts';
import type { RestTopic } from './rest-watch.ts';

/** What is about to be sent. */
export interface SendingSet {
  readonly kind: 'schedule' | 'log' | 'pcapng';
  readonly going: readonly GoingFrame[];
  /** Log and pcapng: how often, and whether counters and checksums are made anew. */
  readonly loops?: number;
  readonly recount?: boolean;
  /** The mark that the span was taken from, and its seconds. */
  readonly span: { readonly mark: string; readonly fromS: number; readonly toS: number } | null;
  /** What nothing in the map could tell of the span. */
  readonly unwatched?: readonly RestTopic[];
  /** A signal that is sent at another value than at rest, "frame.signal", in its unit. */
  readonly varied?: VariedSignal | null;
}

export interface VariedSignal {
  readonly name: string;
  readonly value: number;
}

const counted = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;

const TOPICS: Readonly<Record<RestTopic, string>> = {
  selector: 'that the selector stood in park',
  pedal: 'that no pedal was touched',
  charging: 'that it was not charging',
  mode: 'its mode',
  motion: 'that nothing moved',
};

function playedWords({ kind, loops = 1, recount = false }: SendingSet): (string | false)[] {
  if (kind === 'schedule') return [];
  const repeats = loops > 1 ? `, ${loops} times over` : '';
  return [
    recount
      ? `Counters run on from the first frame and checksums are made anew${repeats}; everything else is as recorded, so values may jump and the spacing is uneven where the end meets the beginning.`
      : 'Counters and checksums are as recorded. Played in a loop the counters break where the end meets the beginning, and a module takes that for a fault: a broken counter is often worse than silence (common practice, no source). Prefer the schedule, whose counters are live.',
    'Whatever plays this file must hold the recorded times; one that sends all at once floods the bus.',
  ];
}

/** One line each, whatever the map calls things: nothing in it breaks a line, steers a terminal or turns the reading direction. */
const oneLine = (text: string): string => text.replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\s]+/gu, ' ').trim();

/** In words for a person; the last ones are of this set alone. */
export function sendingCautions(map: SignalMap, set: SendingSet): string[] {
  const { going, span, unwatched = [] } = set;
  const released = going.filter(({ because }) => because === 'released');
  const commanding = going.filter(({ mayCommand }) => mayCommand.length > 0);
  const strangers = going.filter(({ frame }) => frame.role !== 'needed-by-part');
  const unsolved = going.filter(({ frame }) => frame.checksums.some(({ method }) => method === 'unsolved'));
  const paged = going.filter(({ frame }) => frame.selectors.length > 0);
  const list = (frames: readonly GoingFrame[]): string => frames.map(({ frame }) => calledFrame(frame)).join(', ');
  const own: (string | false | null | undefined)[] = [
    `THIS SENDS ${counted(going.length, 'frame')}: ${list(going)}.`,
    ...commanding.map(
      ({ frame, mayCommand }) =>
        `${calledFrame(frame)} MAY COMMAND the machine or its battery by ${mayCommand.join(', ')}; you released it by name.`,
    ),
    released.length > 0 && `No bench trial has shown harmless: ${list(released)}. A person released each by name.`,
    strangers.length > 0 &&
      `The map does not say that the part needs ${list(strangers)}: make sure that the part does not send it itself.`,
    unsolved.length > 0 &&
      `The checksum of ${list(unsolved)} is not known: its bytes are as recorded, and a module may refuse them.`,
    set.varied && `THIS SETS ${set.varied.name} to ${set.varied.value}: it is not sent as at rest.`,
    span
      ? `Taken from ${span.fromS.toFixed(2)} to ${span.toS.toFixed(2)} s, marked "${span.mark}". Outside of it nothing is sent.`
      : 'The payloads are those of the map at rest.',
    unwatched.length > 0 &&
      `Nothing in the map tells ${unwatched.map((topic) => TOPICS[topic]).join(', nor ')}: only the mark says so.`,
    set.kind === 'schedule' && paged.length > 0 && `Of ${list(paged)} only the page recorded at rest is sent.`,
    ...playedWords(set),
    'To stop sending is an event too: the module notices and reacts in its own way. Have an emergency stop that does not go through the bus.',
  ];
  return [...cautionsFor(map), ...own.filter((line) => typeof line === 'string')].map(oneLine);
}

const NAMES_IN_PHRASE = 3;

/** Letters, digits and plain marks, so that it can be typed at any keyboard and in any shell. */
const typed = (text: string, most: number): string =>
  text
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9 .,_-]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim()
    .slice(0, most)
    .trim();

function namesOf(going: readonly GoingFrame[]): string {
  const names = going.map(({ frame }) => typed(frame.name, 40) || frame.id);
  const rest = names.length - NAMES_IN_PHRASE;
  return rest > 0 ? `${names.slice(0, NAMES_IN_PHRASE).join(', ')} and ${rest} more` : names.join(', ');
}

/** Four letters that change with anything of the set. */
function codeOf(map: SignalMap, { kind, going, loops = 1, recount = false, span, varied = null }: SendingSet): string {
  const frames = going
    .map(({ frame, because, mayCommand }) => [frameKey(frame), frame.name, frame.rest?.payload, because, ...mayCommand])
    .map((each) => JSON.stringify(each))
    .sort();
  let hash = seedOf(JSON.stringify([map.part.title, kind, loops, recount, span, varied, frames]));
  let code = '';
  // No vowels: nothing that reads as a word.
  const letters = 'bcdfghjkmnpqrtvwxz';
  for (let i = 0; i < 4; i++) {
    code += letters[hash % letters.length];
    hash = Math.floor(hash / letters.length);
  }
  return code;
}

/** What a person types to confirm, made of what is about to be sent. Those that may command are named first. */
export function confirmationPhrase(map: SignalMap, set: SendingSet): string {
  const commanding = set.going.filter(({ mayCommand }) => mayCommand.length > 0);
  const others = set.going.filter(({ mayCommand }) => mayCommand.length === 0);
  const title = typed(map.part.title, 60) || 'the part';
  const what =
    commanding.length > 0
      ? `${namesOf(commanding)}, which may command,${others.length > 0 ? ` and ${counted(others.length, 'other frame')}` : ''}`
      : namesOf(others);
  const setTo = set.varied ? ` with ${typed(set.varied.name, 80)} at ${set.varied.value}` : '';
  return `send ${what}${setTo} to ${title} ${codeOf(map, set)}`;
}

const plain = (text: string): string => text.normalize('NFKC').trim().replace(/\s+/g, ' ').toLowerCase();

/** Blanks and capitals apart. An empty phrase is confirmed by nothing. */
export const isConfirmed = (given: string, phrase: string): boolean => phrase !== '' && plain(given) === plain(phrase);
