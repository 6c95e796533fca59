/** Identifiers that are sent as fast as their sender allows while something moves, and else not at all: a change that lasts, and no period. */
import { showMs, withoutPeriod, type TimingFinding } from './finding.ts';
import type { Paces, Stretch } from './paces.ts';

/** So many spells are no module that was switched off and on, and with hardly a frame that repeats its payload no periodic sender. */
const SPELLS_LEAST = 6;
const SPELLS_NEWS = 0.97;
/** Silences take at least this share of the time: frames held back for a moment are no silence. */
const SPELLS_SILENT = 0.1;

/**
 * Frames on a change of something that moves in spells: within a spell as often as the sender allows, else none, and nothing but news in
 * them. A period that is kept only while something moves is no period. null where that does not show.
 */
export function judgeSpells(
  timeUs: Float64Array,
  changed: Uint8Array,
  { periodsUs, stretches }: Paces,
  pausesUs: readonly number[],
): TimingFinding | null {
  if (stretches.length < SPELLS_LEAST || new Set(stretches.map(({ pace }) => pace)).size > 1) return null;
  let news = 0;
  for (let row = 1; row < changed.length; row++) news += changed[row] as number;
  if (news < SPELLS_NEWS * (changed.length - 1)) return null;
  const leastUs = periodsUs[(stretches[0] as Stretch).pace] as number;
  const ends = stretches.slice(0, -1).map(({ toRow }) => toRow - 1);
  const byItself = ends.filter((row) => {
    const from = timeUs[row] as number;
    return !pausesUs.some((us) => us >= from - leastUs && us <= (timeUs[row + 1] as number));
  });
  const silentUs = byItself.reduce((sum, row) => sum + (timeUs[row + 1] as number) - (timeUs[row] as number), 0);
  const wholeUs = (timeUs[timeUs.length - 1] as number) - (timeUs[0] as number);
  if (byItself.length < SPELLS_LEAST - 1 || silentUs < SPELLS_SILENT * wholeUs) return null;
  const why =
    `${stretches.length} spells of frames, each with a new payload, about ${showMs(leastUs)} apart at the least, ` +
    `and ${byItself.length} silences between while the bus went on`;
  return withoutPeriod('on-change', why);
}
