/** Rows at which a frame says something new, and whether certain bits say it: what a counter that steps on a change alone is told by. */
import { chainRows, type PayloadRows } from './payload-rows.ts';

/** Rows that differ from the row before. among: [bytes] bits that are looked at. */
export function changesOf(rows: PayloadRows, among: Uint8Array): PayloadRows {
  const { bytes, data, count } = rows;
  const kept: number[] = [];
  for (let row = 0; row < count; row++) {
    const at = row * bytes;
    if (row === 0 || among.some((mask, byte) => ((data[at + byte]! ^ data[at - bytes + byte]!) & mask) !== 0))
      kept.push(row);
  }
  return chainRows(rows, kept);
}

const NEWS_MIN = 0.9;

/** Whether those bits changed at nearly all of the changes. rest: [bytes] bits that are looked at. */
export function areNews({ bytes, data, count }: PayloadRows, rest: Uint8Array): boolean {
  let news = 0;
  for (let at = bytes; at < count * bytes; at += bytes)
    if (rest.some((mask, byte) => ((data[at + byte]! ^ data[at - bytes + byte]!) & mask) !== 0)) news++;
  return news >= NEWS_MIN * (count - 1);
}
