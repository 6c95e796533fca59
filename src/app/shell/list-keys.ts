/** Walking through a list by keys. Pure. */

/** Where arrows, Home and End lead from the row at `at` (-1: none is held), kept within the list; null: another key, or nothing is listed. */
export function movedTo(key: string, at: number, length: number): number | null {
  const moves: Readonly<Record<string, number>> = { ArrowUp: at - 1, ArrowDown: at + 1, Home: 0, End: length - 1 };
  const to = moves[key];
  return to === undefined || length === 0 ? null : Math.min(length - 1, Math.max(0, to));
}
