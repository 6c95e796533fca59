/**
 * What to record next: each open need is put into the recording that can settle it, standing from sleep to sleep, on the road, or at the charging plug;
 * the one that settles most comes first. What no recording of this donor can settle is left out.
 */
import type { Mark } from '../../actions/types.ts';
import type { SurveyFrame } from '../../timing/types.ts';
import { lastsOf, notDone, TIMES, topicOf } from './card-rows.ts';
import { loggerTrials } from './logger-trial.ts';
import { cardOf, isAfter, type Place } from './place-cards.ts';
import type { DonorCan, Need, NextRecording } from './types.ts';

/** Done often, looked for, and nothing answers: doing it once more brings nothing. */
const isUnanswered = ({ what, figures }: Need): boolean =>
  what === 'repetitions' && figures['fields'] === 0 && (figures['times'] ?? 0) >= TIMES;

/** So many of the usual actions left out, bytes that never moved may yet be somebody's. */
const UNDONE_LEAST = 4;

/** Whether a recording may settle it: a keyed tag never, bytes that never moved as long as much has not been done yet. */
function isOpen(need: Need, undone: number): boolean {
  const { verdict, what, figures } = need;
  if (verdict !== 'cannot-tell') return verdict === 'short';
  if (what === 'guard')
    return ((figures['stillBytes'] ?? 0) > 0 || (figures['identifiers'] ?? 0) > 0) && undone >= UNDONE_LEAST;
  return !isUnanswered(need);
}

/** Where each need is settled. Guards are settled wherever more moves: everywhere. */
function placesOf(need: Need, donor: DonorCan): readonly Place[] {
  const { what, about } = need;
  const isOfPlug = (what === 'mode' && about === 'charging') || (what === 'repetitions' && topicOf(about) === 'plug');
  if (donor !== 'drive') return isOfPlug ? [] : ['standing'];
  if (isOfPlug) return ['plug'];
  if (what === 'guard') return ['standing', 'road', 'plug'];
  return (what === 'mode' && about === 'driving') || isAfter(need) ? ['road'] : ['standing'];
}

const LOGGER =
  'Start the logger before anything is touched, and stop it only when it has shown no frames for ten seconds and the last row is done.';
const LOGGER_LOST = ' It lost frames: set it up as in the trial that lost none.';

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

function recordingAt(
  place: Place,
  own: readonly Need[],
  marks: readonly Mark[],
  donor: DonorCan,
  isLost: boolean,
): NextRecording {
  const card = cardOf(place, own, marks, donor);
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

const areLost = ({ what, verdict }: Need): boolean => what === 'frames-lost' && verdict === 'short';

/**
 * The one that settles most first, but before all what makes the logger lose nothing.
 * @param marks on the capture's clock: the person's words for what they did
 * @param heard the survey's frames: what a logger that was too slow may hear less of
 */
export function nextRecordings(
  needs: readonly Need[],
  marks: readonly Mark[],
  donor: DonorCan,
  heard: readonly SurveyFrame[] = [],
): readonly NextRecording[] {
  const undone = notDone(marks, donor).length;
  const lost = needs.find(areLost);
  const open = needs.filter((need) => isOpen(need, undone) && !areLost(need));
  const places = (['standing', 'road', 'plug'] as const).map((place) => {
    const own = open.filter((need) => placesOf(need, donor).includes(place));
    return { place, own, weight: own.reduce((sum, { verdict }) => sum + WEIGHT[verdict], 0) };
  });
  return [
    ...(lost ? loggerTrials(lost, heard, marks, donor) : []),
    ...places
      .filter(({ own }) => own.length > 0)
      .sort((a, b) => b.weight - a.weight)
      .map(({ place, own }) => recordingAt(place, own, marks, donor, lost !== undefined)),
  ];
}
