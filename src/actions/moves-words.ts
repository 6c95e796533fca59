/** How often a field moves as it does at the marks, for a person. */
import type { Moves } from './types.ts';

/** Answers missing at more marks than this share make "only then" say too much. */
const MOST_SHARE = 0.75;

/** It rests but for this action. */
export const isOnlyThen = ({ at, of, otherwise }: Moves): boolean => otherwise === 0 && at >= MOST_SHARE * of;

/** "16 of 16, never otherwise", "14 of 16, 3 times otherwise". */
export function movesWords({ at, of, otherwise }: Moves): string {
  const other = otherwise === 0 ? 'never' : otherwise === 1 ? 'once' : `${otherwise} times`;
  return `${at} of ${of}, ${other} otherwise`;
}
