/**
 * What to record next: each open need is put into the recording that can settle it, standing from sleep to sleep, on the road, or at the charging plug;
 * the one that settles most comes first. What no recording of this donor can settle is left out.
 */
import type { Mark } from '../../actions/types.ts';
import {
  lastsOf,
  notDone,
  powerDown,
  powerUp,
  rowOfRange,
  rowsOfAction,
  still,
  TIMES,
  topicOf,
  UNTIL_SILENT,
  wordsOf,
  type Words,
} from './card-rows.ts';
import type { DonorCan, Need, NextRecording, RunCardStep } from './types.ts';

type Place = 'standing' | 'road' | 'plug';

/** Done often, looked for, and nothing answers: doing it once more brings nothing. */
const isUnanswered = ({ what, figures }: Need): boolean =>
  what === 'repetitions' && figures['fields'] === 0 && (figures['times'] ?? 0) >= TIMES;

/** So many of the usual actions left out, bytes that never moved may yet be somebody's. */
const UNDONE_LEAST = 4;

/** Whether a recording may settle it: a keyed tag never, bytes that never moved as long as much has not been done yet. */
function isOpen(need: Need, undone: number): boolean {
  const { verdict, what, figures } = need;
  if (verdict !== 'cannot-tell') return verdict === 'short';
  if (what === 'guard') return (figures['stillBytes'] ?? 0) > 0 && undone >= UNDONE_LEAST;
  return !isUnanswered(need);
}

/** Where each need is settled. Guards are settled wherever more moves: everywhere. */
function placesOf(need: Need, donor: DonorCan): readonly Place[] {
  const { what, about } = need;
  const isOfPlug = (what === 'mode' && about === 'charging') || (what === 'repetitions' && topicOf(about) === 'plug');
  if (donor !== 'drive') return isOfPlug ? [] : ['standing'];
  if (isOfPlug) return ['plug'];
  if (what === 'guard') return ['standing', 'road', 'plug'];
  return what === 'mode' && about === 'driving' ? ['road'] : ['standing'];
}

const pairOf = ({ about }: Need): [string, string] => about.split(' / ') as [string, string];

/** Rows of all that is done standing, each action once in the card however many needs ask for it. */
function standingRows(needs: readonly Need[], marks: readonly Mark[], words: Words): RunCardStep[] {
  const rows: RunCardStep[] = [];
  const asked = new Set<string>();
  const add = (action: string, without: string): void => {
    if (asked.has(action)) return;
    asked.add(action);
    rows.push(...rowsOfAction(action, words, without));
  };
  for (const need of needs.filter(({ what }) => what === 'apart')) {
    const [one, other] = pairOf(need);
    add(one, other);
    add(other, one);
  }
  for (const { about } of needs.filter(({ what, about }) => what === 'repetitions' && topicOf(about) !== 'key'))
    add(about, '');
  rows.push(...needs.filter(({ what }) => what === 'range').map(({ about }) => rowOfRange(about)));
  if (needs.some(({ what }) => what === 'guard' || what === 'marks'))
    notDone(marks).forEach((action) => add(action, ''));
  return rows;
}

/** Off and on again so often that the key, too, was turned often enough. */
function powerCycles(needs: readonly Need[], words: Words, donor: DonorCan): RunCardStep[] {
  const isAsked = needs.some(({ what, about }) => what === 'repetitions' && topicOf(about) === 'key');
  if (!isAsked) return [];
  const cycle = [...powerDown(words, donor), still('Touch nothing', 8), ...powerUp(words, donor)];
  return Array.from({ length: TIMES - 1 }, () => cycle).flat();
}

const LOGGER =
  'Start the logger before anything is touched, and stop it only when it has shown no frames for ten seconds.';
const LOGGER_LOST =
  ' It lost frames: one logger a bus, nothing else on that computer, a file on its own disk, the whole bus unfiltered.';

function cardOf(place: Place, needs: readonly Need[], marks: readonly Mark[], donor: DonorCan): RunCardStep[] {
  const words = wordsOf(marks);
  const asleep = still(
    `${donor === 'bench' ? 'Supply off' : 'Vehicle locked and asleep'}: start the logger, touch nothing`,
    15,
  );
  const up = powerUp(words, donor);
  if (place === 'plug')
    return [
      asleep,
      { action: words.plug, says: 'Charging plug in; out again when asked', holdS: 45, times: TIMES },
      UNTIL_SILENT,
    ];
  if (place === 'road')
    return [
      asleep,
      ...up,
      ...['D', 'R', 'D'].map((value) => ({
        action: 'selector moved',
        says: `Foot on the brake: selector to ${value}`,
        holdS: 0,
        times: 1,
        value,
      })),
      { action: words.accelerator, says: 'Drive off: accelerate, then roll', holdS: 4, times: TIMES },
      { action: 'brake pressed', says: 'Brake to a stop', holdS: 3, times: 1 },
      { action: 'selector moved', says: 'Foot on the brake: selector to P', holdS: 0, times: 1, value: 'P' },
      ...powerDown(words, donor),
      UNTIL_SILENT,
    ];
  const rows = standingRows(needs, marks, words);
  return [asleep, ...up, ...rows, ...powerCycles(needs, words, donor), ...powerDown(words, donor), UNTIL_SILENT];
}

const TITLES: Readonly<Record<Place, string>> = {
  standing: 'Standing, from sleep to sleep',
  road: 'On the road or on stands',
  plug: 'At the charging plug',
};

const ON_BENCH = 'On the bench, supply on to supply off';

function saysOf(needs: readonly Need[]): string {
  const perhaps = needs.filter(({ what, verdict }) => what === 'guard' && verdict === 'cannot-tell');
  const settled = needs.filter((need) => !perhaps.includes(need));
  const named = settled.map(({ what, about }) => (about ? `${what} (${about})` : what));
  const guards = perhaps.length === 1 ? 'one guard' : `${perhaps.length} guards`;
  return [
    ...(named.length > 0 ? [`Settles ${named.join(', ')}.`] : []),
    ...(perhaps.length > 0 ? [`It may move bytes that ${guards} were not yet seen to cover.`] : []),
  ].join(' ');
}

function recordingAt(place: Place, own: readonly Need[], marks: readonly Mark[], donor: DonorCan): NextRecording {
  const card = cardOf(place, own, marks, donor);
  const isLost = own.some(({ what, verdict }) => what === 'frames-lost' && verdict === 'short');
  return {
    title: donor === 'bench' ? ON_BENCH : TITLES[place],
    logger: LOGGER + (isLost ? LOGGER_LOST : ''),
    card,
    settles: own.map(({ key }) => key),
    says: saysOf(own),
    lastsS: lastsOf(card),
  };
}

/** What a need short of something weighs beside one that cannot be told. */
const WEIGHT: Readonly<Record<Need['verdict'], number>> = { short: 2, 'cannot-tell': 1, enough: 0 };

/** The one that settles most first. @param marks on the capture's clock: the person's words for what they did */
export function nextRecordings(
  needs: readonly Need[],
  marks: readonly Mark[],
  donor: DonorCan,
): readonly NextRecording[] {
  const undone = notDone(marks).length;
  const open = needs.filter((need) => isOpen(need, undone));
  const places = (['standing', 'road', 'plug'] as const).map((place) => {
    const own = open.filter((need) => placesOf(need, donor).includes(place));
    return { place, own, weight: own.reduce((sum, { verdict }) => sum + WEIGHT[verdict], 0) };
  });
  return places
    .filter(({ own }) => own.length > 0)
    .sort((a, b) => b.weight - a.weight)
    .map(({ place, own }) => recordingAt(place, own, marks, donor));
}
