/**
 * Values that are held for long and are yet no states: the number of a kind of message stays while an index runs through the pages of that kind, for as
 * many rows each time. States hold for as long as they please.
 */

/** Rows for each change, at most. */
const HELD_MAX = 32;
/** Rows, and their share, by which a hold may differ from the usual one of its value: frames get lost. */
const ODD = { rows: 1, share: 0.1 };
/** Share of the holds that are the usual one of their value. */
const REGULAR_MIN = 0.85;
/** The longest usual hold is so many times the shortest, as few kinds have an index: what holds each value equally long is a slow counter. */
const UNEVEN_MIN = 2;

/** By value, the rows of each time that it came and went again, the first and the last time left out. */
function holdsOf(values: Uint8Array): Map<number, number[]> {
  const found = new Map<number, number[]>();
  let since = -1;
  for (let row = 1; row < values.length; row++) {
    if (values[row] === values[row - 1]) continue;
    const value = values[row - 1] as number;
    if (since >= 0) found.set(value, [...(found.get(value) ?? []), row - since]);
    since = row;
  }
  return found;
}

/** Whether each value is held for a number of rows of its own, some for much longer than others. values: [rows]. */
export function holdsForIndex(values: Uint8Array): boolean {
  const holds = [...holdsOf(values).values()];
  const usual = holds.map((own) => [...own].sort((a, b) => a - b)[own.length >> 1] as number);
  const all = holds.reduce((sum, own) => sum + own.length, 0);
  if (values.length > HELD_MAX * all || Math.max(...usual) < UNEVEN_MIN * Math.min(...usual)) return false;
  const isUsual = (rows: number, of: number): boolean => Math.abs(rows - of) <= Math.max(ODD.rows, ODD.share * of);
  const regular = holds.reduce(
    (sum, own, at) => sum + own.filter((rows) => isUsual(rows, usual[at] as number)).length,
    0,
  );
  return regular >= REGULAR_MIN * all;
}
