/**
 * Why a true field outside pages was missed: the division that is true is priced by the models that the finders use, on the same rows,
 * with the guards as they are. Cheaper than the division found, the search has missed it; about as dear, it is a coin toss;
 * clearly dearer, these payloads speak against the truth as far as the models can say (a code length is minus log2 of a likelihood; Rissanen
 * 1978). A better model may yet tell what these do not: the shares bound what a better search could do, and say nothing of better models.
 */
import { candidatesOf, leaveBitsOf, SPAN_ROWS, UNBIASED } from '../../src/fields/divide.ts';
import { hasBit, leftBy } from '../../src/fields/mask.ts';
import { movedMask, rowsOfStream, sampleRows, thinRepeats } from '../../src/fields/payload-rows.ts';
import { segment } from '../../src/fields/segment.ts';
import { pieceOf } from '../../src/fields/span-candidate.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { bitPositions } from '../../src/frames/bits.ts';
import type { KnownFrame, Seen, Sight } from './fields-truth.ts';

/**
 * Found as soon as the guards are the true ones; or else the truth is cheaper, about as dear, dearer, or no span that the models know (a
 * float between bytes, noise).
 */
export const VERDICTS = ['behind guards', 'search', 'toss', 'dearer', 'no model'] as const;
export type Verdict = (typeof VERDICTS)[number];

/** Odds below which two divisions are about as dear; bits. */
const TOSS_BITS = Math.log2(10);

type Bits = readonly number[];
const meet = (a: Bits, b: Bits): boolean => a.some((at) => b.includes(at));

/** Of both sides, all that overlaps the one true field, and what overlaps that. */
function cluster(start: Bits, truth: readonly Bits[], found: readonly Bits[]): { truth: Set<Bits>; found: Set<Bits> } {
  const own = { truth: new Set([start]), found: new Set<Bits>() };
  const grow = (into: Set<Bits>, from: readonly Bits[], over: Set<Bits>): void => {
    for (const each of from) if ([...over].some((other) => meet(each, other))) into.add(each);
  };
  for (let size = 0; size < own.truth.size + own.found.size;) {
    size = own.truth.size + own.found.size;
    grow(own.found, found, own.truth);
    grow(own.truth, truth, own.found);
  }
  return own;
}

/** @returns a verdict for each true field not among the keys claimed; truth: of a frame without pages, all of it */
export function verdictsOf<T extends Seen>(
  truth: readonly T[],
  claimed: ReadonlySet<string>,
  { counters, checksums }: Pick<KnownFrame, 'counters' | 'checksums'>,
  { stream }: Sight,
): Map<T, Verdict> {
  const missed = truth.filter(({ key }) => !claimed.has(key));
  if (missed.length === 0) return new Map();
  const rows = rowsOfStream(stream);
  const guards = [...counters, ...checksums].map(({ place }) => place);
  const usable = leftBy(new Uint8Array(rows.bytes).fill(0xff), guards);
  const free = leftBy(movedMask(rows), guards);
  const sample = sampleRows(thinRepeats(rows, free), SPAN_ROWS);
  const leaving = leaveBitsOf(sample);
  const options = { free, orderBits: UNBIASED, refused: [], leaveBits: leaving, unjudged: true };
  const candidates = runThrough(candidatesOf(sample, usable, options));
  const found = segment(rows.bytes, candidates, options).spans.map((span) => bitPositions(span));
  const prices = new Map<string, number>();
  for (const each of candidates) {
    const key = bitPositions(pieceOf(each)).join();
    prices.set(key, Math.min(each.price, prices.get(key) ?? Infinity));
  }
  const priceOf = (spans: Set<Bits>, all: Set<Bits>): number => {
    const held = new Set([...spans].flat());
    const left = new Set([...all].flat().filter((at) => hasBit(free, at) && !held.has(at)));
    return [...spans].reduce((sum, bits) => sum + (prices.get(bits.join()) ?? Infinity), leaving * left.size);
  };
  const places = truth.map(({ bits }) => bits);
  const judge = ({ bits }: T): Verdict => {
    if (found.some((each) => each.join() === bits.join())) return 'behind guards';
    const own = cluster(bits, places, found);
    const all = new Set([...own.truth, ...own.found]);
    const gap = priceOf(own.truth, all) - priceOf(own.found, all);
    if (gap === Infinity) return 'no model';
    return gap < -TOSS_BITS ? 'search' : gap < TOSS_BITS ? 'toss' : 'dearer';
  };
  return new Map(missed.map((each) => [each, judge(each)]));
}
