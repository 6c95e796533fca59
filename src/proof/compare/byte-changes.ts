/**
 * Payload bytes that behave differently in two captures of one identifier. A byte counts as moving only if, at the rate
 * it moved in the one capture, several moves were due in the other: a byte that moves twice an hour proves nothing by resting.
 */
import type { Pair } from './pairing.ts';
import type { ByteProfile } from './profile-types.ts';
import { frameOf } from './pairing.ts';
import type { ByteChange, ChangedPayload } from './types.ts';

/** A byte that once rested in the one capture for more than this share of the other proves nothing by resting there. */
const LONGEST_REST_SHARE = 0.5;
/** Moves that must have been due before rest says anything: none seen where 10 are due by chance is below 0.0001. */
const MOVES_DUE = 10;
/**
 * Moves that come at random at one rate leave rests up to ln(n) times the usual one, some 12 times for 100,000 moves. What rests longer
 * than this many usual rests moves in bursts, as what a driver does.
 */
const STEADY_RESTS = 24;
export const FILLINGS: ReadonlySet<number> = new Set([0xff, 0xfe]);

/** Moves due in `frames` frames at the other capture's rate. */
export const movesDue = (byte: ByteProfile, frames: number): number => (byte.moves / Math.max(1, byte.frames)) * frames;

/** Whether a byte moves all the time rather than in bursts. */
export const isSteady = ({ moves, frames, longestRest }: ByteProfile): boolean =>
  moves > 0 && longestRest <= (STEADY_RESTS * frames) / moves;

/** Whether `frames` frames of rest are more than what the byte does anyway: moves come in bursts. */
export const isUnusualRest = (byte: ByteProfile, frames: number): boolean =>
  movesDue(byte, frames) >= MOVES_DUE && byte.longestRest <= LONGEST_REST_SHARE * frames;

interface Change {
  readonly how: ByteChange;
  readonly due: number | null;
  readonly steady: boolean;
}

const moved = (how: ByteChange, mover: ByteProfile, frames: number): Change => ({
  how,
  due: Number(movesDue(mover, frames).toPrecision(3)),
  steady: isSteady(mover),
});

/** How a byte that moves in `mover` rests throughout `still`; null where that says nothing. */
function stillness(mover: ByteProfile, still: ByteProfile, filled: ByteChange, plain: ByteChange): Change | null {
  if (FILLINGS.has(still.last) && movesDue(mover, still.frames) >= MOVES_DUE) return moved(filled, mover, still.frames);
  return isUnusualRest(mover, still.frames) ? moved(plain, mover, still.frames) : null;
}

export function byteChange(a: ByteProfile, b: ByteProfile): Change | null {
  if (a.frames === 0 || b.frames === 0) return null;
  if (a.moves === 0 && b.moves === 0)
    return a.last === b.last ? null : { how: 'other constant', due: null, steady: true };
  if (b.moves === 0) return stillness(a, b, 'filling', 'became constant');
  if (a.moves === 0) return stillness(b, a, 'filling ended', 'began to move');
  return b.rest * 2 >= b.frames && isUnusualRest(a, b.rest) ? moved('frozen', a, b.rest) : null;
}

/** The changed bytes of one identifier, one entry a kind of change. */
export function changedPayload({ a, b }: Pair): ChangedPayload[] {
  const changes = new Map<ByteChange, { bytes: number[]; due: number | null; steady: boolean }>();
  for (let byte = 0; byte < Math.min(a.bytes.length, b.bytes.length); byte++) {
    const change = byteChange(a.bytes[byte] as ByteProfile, b.bytes[byte] as ByteProfile);
    if (!change) continue;
    const { how, due, steady } = change;
    const known = changes.get(how);
    const dues = [known?.due ?? null, due].filter((each) => each !== null);
    const least = dues.length > 0 ? Math.min(...dues) : null;
    changes.set(how, { bytes: [...(known?.bytes ?? []), byte], due: least, steady: steady && (known?.steady ?? true) });
  }
  return [...changes].map(([how, { bytes, due, steady }]) => ({ ...frameOf(a), bytes, how, due, steady }));
}

/** Bytes in bursts needed before their rest tells of another use, and the share of them that must rest. */
const BURSTS_LEAST = 6;
const RESTING_SHARE = 0.5;

/** False where most of what moves in bursts, as driving makes it, rests throughout the second. */
export function isUsedAlike(pairs: readonly Pair[]): boolean {
  const { due, resting } = burstsAtRest(pairs);
  return due < BURSTS_LEAST || resting < RESTING_SHARE * due;
}

/**
 * Whether much of what moves in bursts in the first rests throughout the second: another use of the vehicle, not a reaction.
 * Bytes in bursts that were due to move, and how many of those rest.
 */
export function burstsAtRest(pairs: readonly Pair[]): { readonly due: number; readonly resting: number } {
  let [due, resting] = [0, 0];
  for (const { a, b } of pairs) {
    for (let byte = 0; byte < Math.min(a.bytes.length, b.bytes.length); byte++) {
      const [one, other] = [a.bytes[byte] as ByteProfile, b.bytes[byte] as ByteProfile];
      if (isSteady(one) || movesDue(one, other.frames) < MOVES_DUE) continue;
      due++;
      if (other.moves === 0) resting++;
    }
  }
  return { due, resting };
}
