/**
 * Payload bytes that behave differently in two captures of one identifier. A byte counts as moving only if, at the rate
 * it moved in the one capture, several moves were due in the other: a byte that moves twice an hour proves nothing by resting.
 */
import { lengthAt, type Stream } from '../frames/table.ts';

export type ByteChange =
  /** Moved in A, constant in B at FF or FE: "no data". */
  | 'filling'
  /** Moved in A, constant throughout B. */
  | 'became constant'
  /** Moved throughout A; in B moved at first and then held one value to the end. */
  | 'frozen'
  /** Constant in A, moves in B. */
  | 'began to move'
  /** Constant in A at FF or FE, moves in B. */
  | 'filling ended'
  /** Constant in both, at different values. */
  | 'other constant';

/** A byte that once rested in the one capture for more than this share of the other proves nothing by resting there. */
const LONGEST_REST_SHARE = 0.5;
/** Moves that must have been due before rest says anything: none seen where 10 are due by chance is below 0.0001. */
const MOVES_DUE = 10;
const FILLINGS = new Set([0xff, 0xfe]);

interface ByteHistory {
  readonly frames: number;
  readonly moves: number;
  /** Frames after the last move. */
  readonly rest: number;
  /** The longest run of frames without a move. */
  readonly longestRest: number;
  readonly last: number;
}

/** How one byte went over the frames that are long enough for it. O(frames). */
function historyOf(stream: Stream, byte: number): ByteHistory {
  let [frames, moves, rest, longestRest, last] = [0, 0, 0, 0, -1];
  for (let row = 0; row < stream.count; row++) {
    if (lengthAt(stream, row) <= byte) continue;
    const value = stream.payload[row * stream.stride + byte] as number;
    if (frames > 0 && value !== last) {
      moves++;
      rest = 0;
    } else rest++;
    longestRest = Math.max(longestRest, rest);
    last = value;
    frames++;
  }
  return { frames, moves, rest, longestRest, last };
}

/** Moves due in `frames` frames at the other capture's rate. */
const due = (history: ByteHistory, frames: number): number => (history.moves / Math.max(1, history.frames)) * frames;

/** Whether `frames` frames of rest are more than what the byte does anyway: moves come in bursts. */
const isUnusualRest = (history: ByteHistory, frames: number): boolean =>
  due(history, frames) >= MOVES_DUE && history.longestRest <= LONGEST_REST_SHARE * frames;

function changeOf(a: ByteHistory, b: ByteHistory): ByteChange | null {
  if (a.frames === 0 || b.frames === 0) return null;
  if (a.moves === 0 && b.moves === 0) return a.last === b.last ? null : 'other constant';
  if (b.moves === 0) {
    if (FILLINGS.has(b.last) && due(a, b.frames) >= MOVES_DUE) return 'filling';
    return isUnusualRest(a, b.frames) ? 'became constant' : null;
  }
  if (a.moves === 0) {
    if (FILLINGS.has(a.last) && due(b, a.frames) >= MOVES_DUE) return 'filling ended';
    return isUnusualRest(b, a.frames) ? 'began to move' : null;
  }
  return b.rest * 2 >= b.frames && isUnusualRest(a, b.rest) ? 'frozen' : null;
}

/** The changed bytes of one identifier, one entry a kind of change. */
export function compareBytes(a: Stream, b: Stream): { readonly bytes: number[]; readonly how: ByteChange }[] {
  const changes = new Map<ByteChange, number[]>();
  for (let byte = 0; byte < Math.min(a.stride, b.stride); byte++) {
    const how = changeOf(historyOf(a, byte), historyOf(b, byte));
    if (how) changes.set(how, [...(changes.get(how) ?? []), byte]);
  }
  return [...changes].map(([how, bytes]) => ({ bytes, how }));
}
