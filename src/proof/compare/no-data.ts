/**
 * Payload bits that hold, in the second capture, what they never held in the first: patterns that stand for "no data", constants far out of
 * everything seen before, flags that began. A value that the first capture had too says nothing: a vehicle that stands holds many.
 */
import { grouped } from '../../kit/figures.ts';
import { hexDigits } from '../../kit/units.ts';
import { FILLINGS, isSteady, isUnusualRest, movesDue } from './byte-changes.ts';
import { bitCourse, bitsIn, distanceOutside, hasBit, runsOf, shareHolding, type BitCourse } from './held-bits.ts';
import type { ByteProfile, IdentifierProfile } from './profile-types.ts';
import type { ReactionKind } from './types.ts';

/** Settled frames needed in both. */
const FRAMES_LEAST = 20;
/** A pattern that no more than this share of the first's frames had was never there once its sender had started. */
const NEVER_SHARE = 0.002;
/** The least signed value and the most; FF and FE go before (SAE J1939-71: FF not available, FE error). */
const SIGNED_ENDS: ReadonlySet<number> = new Set([0x80, 0x7f]);
/** Bits of one field all ones: two may be a state, three are no chance. */
const ONES_SURE = 3;
/** Beyond all values seen before by so much: a slow quantity on another day lies nearer. */
const FAR = 8;
/** Settled frames without a flag before its being set all the time is worth a word. */
const FLAG_FRAMES = 200;
/** Moves due before a steady byte's rest says anything, and how many times its longest rest that rest must last. */
const STEADY_DUE = 100;
const STEADY_TIMES = 20;
/** What only rests, while the vehicle was used otherwise, is worth this much of its confidence. */
const OTHER_USE = 0.55;

export interface ByteReaction {
  readonly how: ReactionKind;
  readonly confidence: number;
  readonly words: string;
}

/** Two bytes in the same place of the same identifier, and what their bits do. */
interface Both {
  readonly a: ByteProfile;
  readonly b: ByteProfile;
  readonly before: BitCourse;
  readonly after: BitCourse;
  readonly sameUse: boolean;
}

const hex = (value: number): string => hexDigits(value, 2);
const neverWords = ({ a }: Both): string => `never so in ${grouped(a.settled)} frames of the first`;
const bitWords = (run: number): string => {
  const [low, high] = [Math.log2(run & -run), Math.floor(Math.log2(run))];
  return low === high ? `bit ${low}` : `bits ${low} to ${high}`;
};

/** The second the bit was set in for good, having been clear before; null where it was set from the start. */
function beganAtS({ b }: Both, bit: number): number | null {
  const { steps } = b;
  const at = steps?.findIndex(({ value }) => hasBit(value, bit)) ?? -1;
  if (!steps || at < 1) return null;
  return steps.slice(at).every(({ value }) => hasBit(value, bit)) ? (steps[at]?.atS ?? null) : null;
}

/** One or two bits that the first never saw set. */
function flagReaction(both: Both, run: number): ByteReaction | null {
  if (bitsIn(run) > 2 || (both.after.ones & run) === 0 || (both.before.moving & run) !== 0) return null;
  const bit = Math.log2(run & -run);
  const began = beganAtS(both, bit);
  const before = `${bitWords(run)}: never set in ${grouped(both.a.settled)} frames of the first`;
  if (began === null) {
    const words = `${before}, set throughout the second: a fault, or some switch`;
    return { how: 'flag began', confidence: both.a.settled >= FLAG_FRAMES ? 0.5 : 0.4, words };
  }
  return { how: 'flag began', confidence: 0.7, words: `${before}, set from ${began.toFixed(1)} s on in the second` };
}

/** A whole byte at a pattern of its own. */
function byteReactionOf(both: Both, run: number): ByteReaction | null {
  const { a, after } = both;
  if (run !== 0xff) return null;
  const words = `${hex(after.ones)} throughout the second, ${neverWords(both)}`;
  if (FILLINGS.has(after.ones)) return { how: 'no data', confidence: 0.93, words };
  const far = distanceOutside(a, run, after.ones) >= FAR;
  return SIGNED_ENDS.has(after.ones) && far ? { how: 'no data', confidence: 0.8, words } : null;
}

/** Neighbouring bits that moved, all ones now. */
function onesReaction(both: Both, run: number): ByteReaction | null {
  const { before, after } = both;
  const bits = bitsIn(run);
  if ((after.ones & run) !== run || bits < 2 || (before.moving & run) === 0) return null;
  const words = `${bitWords(run)}: all ones throughout the second, ${neverWords(both)}`;
  return { how: 'no data', confidence: bits >= ONES_SURE ? 0.8 : 0.55, words };
}

/** A constant far out of all that was seen before, where many moves were due. */
function constantReaction(both: Both, run: number): ByteReaction | null {
  const { a, b, before, after, sameUse } = both;
  const value = after.ones & run;
  if ((before.moving & run) === 0 || distanceOutside(a, run, value) < FAR) return null;
  if (b.moves === 0 && !isUnusualRest(a, b.frames)) return null;
  const confidence = (b.moves === 0 ? 0.85 : 0.65) * (sameUse ? 1 : OTHER_USE);
  const words = `${bitWords(run)}: ${hex(value)} throughout the second, ${neverWords(both)} and far from all values there`;
  return { how: 'another constant', confidence, words };
}

/**
 * Runs of neighbouring bits that moved in the first or hold something else now. A run of which some bits still move is a number that
 * goes on: what its upper bits hold is its value.
 */
function novelRuns({ a, before, after }: Both): number[] {
  const changed = before.moving | (before.ones ^ (after.ones & ~before.moving));
  return runsOf(changed & 0xff).filter(
    (run) => (run & after.moving) === 0 && shareHolding(a, run, after.ones & run) <= NEVER_SHARE,
  );
}

/** Whatever was done it moved, and it rests: a guard, noise, a measurement that never stands still. */
function steadyReaction({ a, b, sameUse }: Both): ByteReaction | null {
  const still = b.moves === 0 ? b.frames : b.rest * 2 >= b.frames ? b.rest : 0;
  const due = Math.round(movesDue(a, still));
  if (!isSteady(a) || due < STEADY_DUE || STEADY_TIMES * a.longestRest > still) return null;
  const words = `moved steadily in the first, whatever was done: ${grouped(due)} moves were due`;
  const confidence = sameUse ? 0.85 : 0.6;
  if (b.moves === 0 && FILLINGS.has(b.last)) {
    return { how: 'no data', confidence: 0.9, words: `${hex(b.last)} throughout the second; ${words}` };
  }
  return b.moves === 0
    ? { how: 'became constant', confidence, words: `${words}, none came` }
    : { how: 'frozen', confidence: confidence - 0.05, words: `${words} after the last one` };
}

/** How one byte reacts; null where nothing says so. @param sameUse whether the vehicle was used alike in both captures */
export function byteReaction(a: ByteProfile, b: ByteProfile, sameUse: boolean): ByteReaction | null {
  if (Math.min(a.settled, b.settled) < FRAMES_LEAST) return null;
  const both: Both = { a, b, before: bitCourse(a), after: bitCourse(b), sameUse };
  const judges = [byteReactionOf, onesReaction, constantReaction, flagReaction];
  const found = novelRuns(both).flatMap((run) => judges.flatMap((judge) => judge(both, run) ?? []));
  const best = found.sort((x, y) => y.confidence - x.confidence)[0];
  return best ?? steadyReaction(both);
}

export interface PayloadReaction extends ByteReaction {
  readonly bytes: readonly number[];
}

/** Several bytes that look so are surer than one, though not independent: each further one counts half. */
function together(confidences: readonly number[]): number {
  const [first = 1, ...more] = confidences.map((each) => 1 - each).sort((x, y) => x - y);
  return Math.min(0.98, 1 - more.reduce((doubt, each) => doubt * Math.sqrt(each), first));
}

/** The reaction of an identifier's payload: the surest byte, and the others that react in the same way. */
export function payloadReaction(a: IdentifierProfile, b: IdentifierProfile, sameUse: boolean): PayloadReaction | null {
  const found = a.bytes.flatMap((byte, at) => {
    const other = b.bytes[at];
    const reaction = other ? byteReaction(byte, other, sameUse) : null;
    return reaction ? [{ ...reaction, at }] : [];
  });
  const best = [...found].sort((x, y) => y.confidence - x.confidence)[0];
  if (!best) return null;
  const alike = found.filter(({ how }) => how === best.how);
  return {
    how: best.how,
    confidence: together(alike.map(({ confidence }) => confidence)),
    words: `byte ${best.at}: ${best.words}`,
    bytes: alike.map(({ at }) => at),
  };
}
