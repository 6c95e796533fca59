/**
 * Payload bits that hold, in the second capture, what they never held in the first: patterns that stand for "no data", constants out of
 * everything seen before, flags that began. A value that the first capture had too says nothing: a vehicle that stands holds many.
 */
import { FILLINGS, isSteady, isUnusualRest, movesDue } from './byte-changes.ts';
import type { ByteProfile, IdentifierProfile } from './profile-types.ts';
import type { ReactionKind } from './types.ts';

/** Settled frames needed in both. */
const FRAMES_LEAST = 20;
/** A bit is constant if no more than this share of frames disagrees: a value that is only just being lost. */
const STRAY_SHARE = 0.01;
/** A pattern that no more than this share of the first's frames had was never there once its sender had started. */
const NEVER_SHARE = 0.002;
/** All ones, "error" beside it (SAE J1939-71: FF not available, FE error), the least signed value, and the most. */
const PATTERNS: ReadonlySet<number> = new Set([...FILLINGS, 0x80, 0x7f]);
/** Ones in a row within a field's own bits that are no chance. */
const ONES_LEAST = 3;
/** Moves due at which even bytes that move steadily cannot rest by chance. */
const STEADY_DUE = 30;

export interface ByteReaction {
  readonly how: ReactionKind;
  readonly confidence: number;
  readonly words: string;
}

interface Held {
  /** Bits that hardly change, and what they hold. */
  readonly mask: number;
  readonly value: number;
}

/** [8] share of settled frames with each bit set. */
function onesShares({ values, counts, settled }: ByteProfile): number[] {
  const ones = new Array<number>(8).fill(0);
  values.forEach((value, at) => {
    for (let bit = 0; bit < 8; bit++)
      if ((value >> bit) & 1) ones[bit] = (ones[bit] as number) + (counts[at] as number);
  });
  return ones.map((count) => count / Math.max(1, settled));
}

function heldBits(shares: readonly number[]): Held {
  let [mask, value] = [0, 0];
  shares.forEach((share, bit) => {
    if (share > STRAY_SHARE && share < 1 - STRAY_SHARE) return;
    mask |= 1 << bit;
    if (share > 0.5) value |= 1 << bit;
  });
  return { mask, value };
}

/** Share of settled frames that held `value` in the bits of `mask`. */
function shareHolding({ values, counts, settled }: ByteProfile, { mask, value }: Held): number {
  let holding = 0;
  values.forEach((each, at) => {
    if ((each & mask) === value) holding += counts[at] as number;
  });
  return holding / Math.max(1, settled);
}

function longestOnes(bits: number): number {
  let [run, longest] = [0, 0];
  for (let bit = 0; bit < 8; bit++) {
    run = (bits >> bit) & 1 ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}

const bitsIn = (mask: number): number => [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (mask >> bit) & 1).length;
const hex = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');
const n = (count: number): string => count.toLocaleString('en-US');

/** Whether a bit that was never set stays set from some moment of the second capture on, having been clear before. */
function beganIn(b: ByteProfile, bit: number): number | null {
  const set = (value: number): boolean => ((value >> bit) & 1) === 1;
  const { steps } = b;
  if (!steps || steps.length < 2) return null;
  const at = steps.findIndex(({ value }) => set(value));
  return at > 0 && steps.slice(at).every(({ value }) => set(value)) ? (steps[at]?.atS ?? null) : null;
}

function flagReaction(a: ByteProfile, b: ByteProfile, changed: number, held: Held): ByteReaction | null {
  const bit = Math.log2(changed & -changed);
  if ((held.value & changed) === 0) return null;
  const began = beganIn(b, bit);
  const before = `bit ${bit} was never set in ${n(a.settled)} frames of the first`;
  if (began === null) {
    return {
      how: 'flag began',
      confidence: 0.5,
      words: `${before} and is set throughout the second: a fault, or some switch`,
    };
  }
  return {
    how: 'flag began',
    confidence: 0.7,
    words: `${before}; in the second it is set from ${began.toFixed(1)} s on and stays so`,
  };
}

/** Moves due, and whether the rest of the second is more than the byte does anyway. */
function restsUnusually(a: ByteProfile, b: ByteProfile): boolean {
  return b.moves <= STRAY_SHARE * b.frames && isUnusualRest(a, b.frames);
}

function novelReaction(a: ByteProfile, b: ByteProfile, held: Held, sharesA: readonly number[]): ByteReaction | null {
  const changed = [...sharesA.keys()].reduce((mask, bit) => {
    const was = sharesA[bit] as number;
    const same = (held.value >> bit) & 1 ? was > 1 - STRAY_SHARE : was < STRAY_SHARE;
    return (held.mask >> bit) & 1 && !same ? mask | (1 << bit) : mask;
  }, 0);
  const moved = [...sharesA.keys()].filter(
    (bit) =>
      (changed >> bit) & 1 && (sharesA[bit] as number) > STRAY_SHARE && (sharesA[bit] as number) < 1 - STRAY_SHARE,
  ).length;
  const never = `never so in ${n(a.settled)} frames of the first`;
  if (held.mask === 0xff && PATTERNS.has(held.value) && (moved > 0 || bitsIn(changed) >= 2)) {
    const sure = FILLINGS.has(held.value) ? 0.93 : 0.8;
    return { how: 'no data', confidence: sure, words: `${hex(held.value)} throughout the second, ${never}` };
  }
  const ones = longestOnes(held.value & held.mask);
  if (ones >= ONES_LEAST && (changed & held.value) === changed && bitsIn(changed) >= 2) {
    return { how: 'no data', confidence: 0.8, words: `${ones} bits in a row all ones in the second, ${never}` };
  }
  if (moved > 0 && held.mask === 0xff && restsUnusually(a, b)) {
    const due = Math.round(movesDue(a, b.frames));
    return {
      how: 'another constant',
      confidence: 0.85,
      words: `${hex(held.value)} throughout the second, ${never}, though ${n(due)} moves were due`,
    };
  }
  if (moved >= 3) {
    return {
      how: 'another constant',
      confidence: 0.6,
      words: `${moved} bits that moved hold a pattern in the second, ${never}`,
    };
  }
  return moved === 0 && bitsIn(changed) <= 2 && longestOnes(changed) === bitsIn(changed)
    ? flagReaction(a, b, changed, held)
    : null;
}

function steadyReaction(a: ByteProfile, b: ByteProfile): ByteReaction | null {
  const still = b.moves === 0 ? b.frames : b.rest * 2 >= b.frames ? b.rest : 0;
  const due = Math.round(movesDue(a, still));
  if (!isSteady(a) || due < STEADY_DUE || !isUnusualRest(a, still)) return null;
  const words = `moved steadily in the first, whatever was done: ${n(due)} moves were due`;
  return b.moves === 0
    ? { how: 'became constant', confidence: 0.85, words: `${words}, none came` }
    : { how: 'frozen', confidence: 0.8, words: `${words} after the last one` };
}

/** How one byte reacts; null where nothing says so. */
export function byteReaction(a: ByteProfile, b: ByteProfile): ByteReaction | null {
  if (Math.min(a.settled, b.settled) < FRAMES_LEAST) return null;
  const held = heldBits(onesShares(b));
  if (held.mask !== 0 && shareHolding(a, held) <= NEVER_SHARE) {
    const novel = novelReaction(a, b, held, onesShares(a));
    if (novel) return novel;
  }
  return steadyReaction(a, b);
}

export interface PayloadReaction extends ByteReaction {
  readonly bytes: readonly number[];
}

/** Chance that all of several bytes merely happen to look so, taken as half independent of each other. */
const together = (confidences: readonly number[]): number =>
  Math.min(
    0.98,
    1 -
      confidences
        .map((c) => 1 - c)
        .sort((x, y) => x - y)
        .reduce((p, each, at) => (at === 0 ? each : p * Math.sqrt(each)), 1),
  );

/** The reaction of an identifier's payload: the surest byte, and the others that react in the same way. */
export function payloadReaction(a: IdentifierProfile, b: IdentifierProfile): PayloadReaction | null {
  const found = a.bytes.flatMap((byte, at) => {
    const other = b.bytes[at];
    const reaction = other ? byteReaction(byte, other) : null;
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
