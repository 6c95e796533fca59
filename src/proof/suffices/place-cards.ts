/** The run card of a recording: standing from sleep to sleep, on the road, or at the charging plug, with all that the needs put there ask for. */
import type { Mark } from '../../actions/types.ts';
import {
  notDone,
  powerDown,
  powerUp,
  rowOfRange,
  rowsOfAction,
  still,
  TIMES,
  topicOf,
  UNTIL_SILENT,
  wakeAgain,
  wordsOf,
  type Words,
} from './card-rows.ts';
import type { DonorCan, Need, RunCardStep } from './types.ts';

export type Place = 'standing' | 'road' | 'plug';

/** A range of what follows, which is gone through on the road. */
export const isAfter = ({ what, figures }: Need): boolean => what === 'range' && 'followers' in figures;

const pairOf = ({ about }: Need): [string, string] => about.split(' / ') as [string, string];

/** Rows of all that is done standing, each action once in the card however many needs ask for it. */
function standingRows(needs: readonly Need[], marks: readonly Mark[], words: Words, donor: DonorCan): RunCardStep[] {
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
    notDone(marks, donor).forEach((action) => add(action, ''));
  return rows;
}

/** Off and on again so often that the key, too, was turned often enough. */
function powerCycles(needs: readonly Need[], words: Words, donor: DonorCan): RunCardStep[] {
  const isAsked = needs.some(({ what, about }) => what === 'repetitions' && topicOf(about) === 'key');
  if (!isAsked) return [];
  const cycle = [...powerDown(words, donor), still('Touch nothing', 8), ...powerUp(words, donor)];
  return Array.from({ length: TIMES - 1 }, () => cycle).flat();
}

const driveOff = (needs: readonly Need[]): string =>
  needs.some(isAfter)
    ? 'Drive off: accelerate as fast as the place and its law allow, then roll'
    : 'Drive off: accelerate, then roll';

export function cardOf(place: Place, needs: readonly Need[], marks: readonly Mark[], donor: DonorCan): RunCardStep[] {
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
      { action: words.accelerator, says: driveOff(needs), holdS: 4, times: TIMES },
      { action: 'brake pressed', says: 'Brake to a stop', holdS: 3, times: 1 },
      { action: 'selector moved', says: 'Foot on the brake: selector to P', holdS: 0, times: 1, value: 'P' },
      ...powerDown(words, donor),
      UNTIL_SILENT,
    ];
  const rows = standingRows(needs, marks, words, donor);
  return [
    asleep,
    ...up,
    ...rows,
    ...powerCycles(needs, words, donor),
    ...powerDown(words, donor),
    UNTIL_SILENT,
    ...wakeAgain(words, donor),
  ];
}
