/** Rows of a run card for what is asked of a person in the vehicle. Words are the person's own actions where they marked some. */
import { readMark } from '../../timing/modes/mark-states.ts';
import type { Mark } from '../../actions/types.ts';
import type { DonorCan, RunCardStep } from './types.ts';

/** One more than is needed: one may fail. */
export const TIMES = 6;
/** Presses to the end of a range, of which three must have held. */
const END_TIMES = 5;
const HOLD_S = 3;
const END_HOLD_S = 4;

/** How the person names things, from their marks; our words where they marked none. */
export interface Words {
  readonly key: string;
  readonly plug: string;
  readonly accelerator: string;
  readonly isInstant: (action: string) => boolean;
  /** The values that marks of an action carry, in order of appearance. */
  readonly valuesOf: (action: string) => readonly string[];
}

export type Topic = 'key' | 'plug' | 'accelerator' | 'selector' | null;

/** What an action is about, by its words. */
export const topicOf = (action: string, value?: string): Topic =>
  readMark({ action, startS: 0, endS: null, ...(value === undefined ? {} : { value }) })?.topic ?? null;

export function wordsOf(marks: readonly Mark[]): Words {
  const named = (topic: Topic, usual: string): string =>
    marks.find(({ action, value }) => topicOf(action, value) === topic)?.action ?? usual;
  const own = (action: string): Mark[] => marks.filter((mark) => mark.action === action);
  return {
    key: named('key', 'key turned'),
    plug: named('plug', 'plug inserted'),
    accelerator: named('accelerator', 'accelerator pressed'),
    isInstant: (action) => own(action).length > 0 && own(action).every(({ endS }) => endS === null),
    valuesOf: (action) => [...new Set(own(action).flatMap(({ value }) => (value ? [value] : [])))],
  };
}

export const still = (says: string, holdS: number): RunCardStep => ({ action: '', says, holdS, times: 1 });

/** Everything quiet until the last module sleeps: powertrains take up to minutes behind the key (common practice, no source). */
export const UNTIL_SILENT = still('Touch nothing, all shut, until the logger shows no frames for ten seconds', 60);

/**
 * A recording ends with its last frame: of silence behind it nothing is left to see. Once more awake, the silence lies within it, and so does a wake.
 */
export const wakeAgain = (words: Words, donor: DonorCan): RunCardStep[] => [
  keyRow(
    words,
    'on',
    `${donor === 'bench' ? 'Switch the wake line on' : 'Turn the key to on'} once more, so that the silence shows`,
  ),
  still('Touch nothing, then stop the logger', 6),
];

const keyRow = ({ key }: Words, value: string, says: string): RunCardStep => ({
  action: key,
  says,
  holdS: 0,
  times: 1,
  value,
});

/** Powered up, and ready where the donor can be. */
export function powerUp(words: Words, donor: DonorCan): RunCardStep[] {
  if (donor === 'bench') return [keyRow(words, 'on', 'Switch the supply and the wake line on'), still('Wait', 5)];
  const on = [keyRow(words, 'on', 'Turn the key to on'), still('Touch nothing', 5)];
  if (donor === 'key-on') return on;
  return [
    ...on,
    keyRow(words, 'start', 'Foot on the brake: turn the key to start'),
    still('Foot off, touch nothing', 6),
  ];
}

export const powerDown = (words: Words, donor: DonorCan): RunCardStep[] => [
  keyRow(words, 'off', donor === 'bench' ? 'Switch the wake line off, leave the supply on' : 'Turn the key to off'),
];

/** An action so often by itself. */
export function rowsOfAction(action: string, words: Words, without = ''): RunCardStep[] {
  const alone = without ? `, and leave "${without}" out` : '';
  const values = words.valuesOf(action);
  if (values.length > 1) {
    const rounds = Array.from({ length: TIMES }, (_, at) => values[at % values.length] as string);
    return rounds.map((value) => ({ action, says: `${action}: ${value}${alone}`, holdS: 0, times: 1, value }));
  }
  const isInstant = words.isInstant(action);
  const says = isInstant ? `${action}${alone}` : `${action}, and hold${alone}`;
  return [{ action, says, holdS: isInstant ? 0 : HOLD_S, times: TIMES, ...(values[0] ? { value: values[0] } : {}) }];
}

/** An action to the end of its range. */
export const rowOfRange = (action: string): RunCardStep => ({
  action,
  says: `${action}: as far as it goes, and hold it there`,
  holdS: END_HOLD_S,
  times: END_TIMES,
});

/** What vehicles of any make have; each is worth a try where bits never moved (common practice, no source). */
const USUAL: readonly string[] = [
  'brake pressed',
  'accelerator pressed',
  'selector moved',
  'indicator left',
  'indicator right',
  'hazard lights',
  'headlights on',
  'wiper on',
  'door opened',
  'handbrake pulled',
  'heater on',
  'regen paddle',
];

/** What moves the values of a part by itself, without anybody's foot (common practice, no source). */
const ON_BENCH: readonly string[] = [
  'supply voltage lowered',
  'interlock opened',
  'shaft turned by hand',
  'sensor warmed by hand',
  'sensor unplugged',
];

/** Of the usual actions, those that nobody did. */
export const notDone = (marks: readonly Mark[], donor: DonorCan): readonly string[] =>
  (donor === 'bench' ? ON_BENCH : USUAL).filter((action) => !marks.some((mark) => mark.action === action));

/** About so long a card lasts: what is held, and for each turn of an action a pause and a reaction. */
const PAUSE_S = 8.5;
export const lastsOf = (card: readonly RunCardStep[]): number =>
  Math.round(card.reduce((sum, { action, holdS, times }) => sum + times * (holdS + (action ? PAUSE_S : 0)), 0));
