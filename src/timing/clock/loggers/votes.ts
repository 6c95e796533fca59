/**
 * The difference of two clocks that most shared moments agree on. Chance moments (two modules that happened to send alike) spread over the
 * whole length of the recordings, true ones crowd within what clocks drift meanwhile; a clock that was set during
 * the recording makes several crowds, one after the other.
 */
import { median } from '../../robust.ts';
import type { Anchor } from './anchors.ts';

/** Shared moments of one difference, in the order of the second logger's time. */
export interface Crowd {
  readonly anchors: readonly Anchor[];
  /** Of the second logger. */
  readonly fromUs: number;
  readonly toUs: number;
}

/** A gateway's delay and its swings, and drift of two clocks that are each off by 100 ppm and a bit. */
const WIDTH_US = 100_000;
const DRIFT_MOST = 3e-4;
/** Fewer agree by chance too easily. */
const ANCHORS_LEAST = 8;
/** Against what would fall into such a window if all were chance. */
const BEYOND_CHANCE = 8;
/** Of one pair of identifiers, so many moments show that one copies the other. */
const PAIR_LEAST = 3;
const CROWDS_MOST = 8;
/** Stray moments of other crowds within the time of one. */
const WITHIN_SHARE = 0.1;

const differenceOf = ({ aUs, bUs }: Anchor): number => bUs - aUs;

/** The window of differences that holds most. O(n log n). */
function fullestWindow(anchors: readonly Anchor[], widthUs: number): Anchor[] {
  const sorted = [...anchors].sort((one, other) => differenceOf(one) - differenceOf(other));
  let best = { from: 0, to: 0 };
  for (let from = 0, to = 0; to < sorted.length; to++) {
    while (differenceOf(sorted[to] as Anchor) - differenceOf(sorted[from] as Anchor) > widthUs) from++;
    if (to + 1 - from > best.to - best.from) best = { from, to: to + 1 };
  }
  return sorted.slice(best.from, best.to);
}

const pairOf = ({ a, b }: Anchor): string => `${a}/${b}`;

/** Only moments of pairs of identifiers that share several. */
function ofSteadyPairs(anchors: readonly Anchor[]): Anchor[] {
  const counts = new Map<string, number>();
  for (const anchor of anchors) counts.set(pairOf(anchor), (counts.get(pairOf(anchor)) ?? 0) + 1);
  return anchors.filter((anchor) => (counts.get(pairOf(anchor)) ?? 0) >= PAIR_LEAST);
}

function crowdOf(anchors: readonly Anchor[]): Crowd {
  const inTime = [...anchors].sort((one, other) => one.bUs - other.bUs);
  return { anchors: inTime, fromUs: (inTime[0] as Anchor).bUs, toUs: (inTime[inTime.length - 1] as Anchor).bUs };
}

/** Whether two crowds hold in one and the same time: then one of them is chance. */
function overlap(one: Crowd, other: Crowd): boolean {
  const within = other.anchors.filter(({ bUs }) => bUs > one.fromUs && bUs < one.toUs).length;
  return within > WITHIN_SHARE * other.anchors.length;
}

/** A clock that was set by more than this shows in the moments themselves. */
const SET_LEAST_US = 15_000;
/** Moments on each side that tell a level. */
const AROUND = 7;

function middleOf(anchors: readonly Anchor[], from: number, to: number): number {
  return median(Float64Array.from(anchors.slice(from, to), differenceOf));
}

/** Cut where the difference steps for good, at the moment that parts it best. */
function cutAtSteps({ anchors }: Crowd): Crowd[] {
  const parts: (readonly Anchor[])[] = [];
  let start = 0;
  for (let at = AROUND; at + AROUND <= anchors.length; at++) {
    const stepAt = (i: number): number => middleOf(anchors, i, i + AROUND) - middleOf(anchors, i - AROUND, i);
    if (Math.abs(stepAt(at)) < SET_LEAST_US) continue;
    let best = at;
    for (let i = at; i < at + AROUND && i + AROUND <= anchors.length; i++) {
      const jump = (k: number): number =>
        Math.abs(differenceOf(anchors[k] as Anchor) - differenceOf(anchors[k - 1] as Anchor));
      if (jump(i) > jump(best)) best = i;
    }
    parts.push(anchors.slice(start, best));
    start = best;
    at = best + AROUND - 1;
  }
  parts.push(anchors.slice(start));
  return parts.filter((part) => part.length >= ANCHORS_LEAST).map(crowdOf);
}

/** Crowds in the order of the second logger's time; empty where nothing is beyond chance. */
export function crowdsOf(anchors: readonly Anchor[], durationUs: number): Crowd[] {
  const widthUs = WIDTH_US + DRIFT_MOST * durationUs;
  const chance = (anchors.length * widthUs) / Math.max(widthUs, 2 * durationUs);
  const least = Math.max(ANCHORS_LEAST, Math.min(BEYOND_CHANCE * chance, 0.5 * anchors.length));
  const crowds: Crowd[] = [];
  let left: readonly Anchor[] = anchors;
  while (crowds.length < CROWDS_MOST) {
    const window = fullestWindow(left, widthUs);
    const steady = ofSteadyPairs(window);
    if (steady.length < (crowds.length === 0 ? least : ANCHORS_LEAST)) break;
    const crowd = crowdOf(steady);
    if (!crowds.some((known) => overlap(known, crowd) || overlap(crowd, known))) crowds.push(crowd);
    const used = new Set(window);
    left = left.filter((anchor) => !used.has(anchor));
  }
  return crowds.flatMap(cutAtSteps).sort((one, other) => one.fromUs - other.fromUs);
}
