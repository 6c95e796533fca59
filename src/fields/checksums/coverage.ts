/** Which bytes a checksum may cover: all others, runs of bytes around or beside it, or any choice of the bytes that move. */
import { less } from '../mask.ts';
import type { Evidence } from './evidence.ts';
import type { TagPlace } from './places.ts';
import type { Leaning } from './relations.ts';

/** Covered bytes in payload order; the tag's own bits are taken out when the rule is evaluated. */
export type Coverage = readonly number[];

/** A byte that is all tag cannot be covered; one that shares its byte with something else can. */
const isAllTag = (place: TagPlace, byte: number): boolean => place.mask[byte] === 0xff;

/** Bytes of checksums already found belong to another part of the frame. */
const touchesTaken = (evidence: Evidence, covered: Coverage): boolean =>
  covered.some((byte) => evidence.taken[byte] !== 0);

const range = (from: number, to: number, place: TagPlace): number[] => {
  const bytes: number[] = [];
  for (let byte = from; byte <= to; byte++) if (!isAllTag(place, byte)) bytes.push(byte);
  return bytes;
};

const movesOutsideTag = (evidence: Evidence, place: TagPlace, byte: number): boolean =>
  ((evidence.moved[byte] as number) & ~(place.mask[byte] as number)) !== 0;

/** Up to this many bytes every run is tried; beyond, only runs that begin or end at the tag are tried, or halves and quarters of the frame. */
export const SHORT_FRAME = 8;
const PARTS = 4;

/** Runs of bytes, the longest first; a run with no moving byte is left out. */
function contiguousCoverages(evidence: Evidence, place: TagPlace): Coverage[] {
  const { bytes } = evidence;
  const tagFirst = place.mask.findIndex((mask) => mask !== 0);
  const tagLast = bytes - 1 - [...place.mask].reverse().findIndex((mask) => mask !== 0);
  const found: Coverage[] = [];
  for (let size = bytes; size >= 1; size--) {
    for (let from = 0; from + size <= bytes; from++) {
      const to = from + size - 1;
      const atTag = from === tagFirst || to === tagLast || from === tagLast + 1 || to === tagFirst - 1;
      const isPart = (from * PARTS) % bytes === 0 && ((to + 1) * PARTS) % bytes === 0;
      if (bytes > SHORT_FRAME && !atTag && !isPart) continue;
      const covered = range(from, to, place);
      if (covered.length > 0 && covered.some((byte) => movesOutsideTag(evidence, place, byte))) {
        if (!touchesTaken(evidence, covered)) found.push(covered);
      }
    }
  }
  return dropRepeats(found);
}

/** First and last byte with a bit in the mask; null where there is none. */
function hullOf(mask: Uint8Array): readonly [number, number] | null {
  const first = mask.findIndex((bits) => bits !== 0);
  return first < 0 ? null : [first, mask.findLastIndex((bits) => bits !== 0)];
}

/**
 * Runs of bytes over what a tag leans on, and over no byte beside that moves on its own: the whole frame or a half of it first, as a still byte of the
 * other half is hardly guarded here; then the widest. Their ends are where such bytes begin, where bytes begin that move at all, at a half or quarter of
 * the frame, at the tag, or where the leaning ends.
 */
export function leaningCoverages(evidence: Evidence, place: TagPlace, { on, own }: Leaning): Coverage[] {
  const { bytes, moved } = evidence;
  const hull = hullOf(on);
  if (!hull) return [];
  const [tagFirst, tagLast] = hullOf(place.mask) as readonly [number, number];
  const grow = (start: number, by: -1 | 1, stops: Uint8Array): number => {
    let at = start;
    while (at + by >= 0 && at + by < bytes && stops[at + by] === 0) at += by;
    return at;
  };
  const moving = less(moved, place.mask);
  const [low, high] = [grow(hull[0], -1, own), grow(hull[1], 1, own)];
  const parts = Array.from({ length: PARTS + 1 }, (_, part) => (part * bytes) / PARTS);
  const starts = [low, grow(hull[0], -1, moving), ...parts, tagFirst, tagLast + 1, hull[0]];
  const ends = [high, grow(hull[1], 1, moving), ...parts.map((part) => part - 1), tagLast, tagFirst - 1, hull[1]];
  const whole: Coverage[] = [];
  const others: Coverage[] = [];
  for (const from of new Set(starts.filter((start) => start >= low && start <= hull[0])))
    for (const to of new Set(ends.filter((end) => end <= high && end >= hull[1]))) {
      const covered = range(from, to, place);
      if (covered.length > 0 && !touchesTaken(evidence, covered))
        (isWhole(from, to, bytes) ? whole : others).push(covered);
    }
  const widest = (a: Coverage, b: Coverage): number => b.length - a.length;
  return dropRepeats([...whole.sort(widest), ...others.sort(widest)]);
}

/** Whether a run is all of the frame or one half. */
const isWhole = (from: number, to: number, bytes: number): boolean =>
  (from === 0 && to === bytes - 1) || (from % (bytes / 2) === 0 && to - from + 1 === bytes / 2);

/** The frame, its half and quarter that hold the tag, and all before or behind the tag: where a value stands twice, it may lean on either. */
function partCoverages(evidence: Evidence, place: TagPlace): Coverage[] {
  const { bytes } = evidence;
  const [tagFirst, tagLast] = hullOf(place.mask) as readonly [number, number];
  const halves = [1, 2, PARTS].map((parts): readonly [number, number] => {
    const size = Math.ceil(bytes / parts);
    const from = Math.floor(tagFirst / size) * size;
    return [from, Math.min(bytes, from + size) - 1];
  });
  const runs = [...halves, [tagLast + 1, bytes - 1], [0, tagFirst - 1]] as readonly (readonly [number, number])[];
  const whole = runs.filter(([from, to]) => from <= to && (to < tagFirst || from > tagLast || to >= tagLast));
  return whole
    .map(([from, to]) => range(from, to, place))
    .filter((covered) => covered.length > 0 && !touchesTaken(evidence, covered));
}

/** Runs that a CRC at this place may cover. On long frames only those that what it leans on leaves open, and the usual ones. */
export function crcCoverages(evidence: Evidence, place: TagPlace, leaning: Leaning | null): Coverage[] {
  if (evidence.bytes <= SHORT_FRAME) return contiguousCoverages(evidence, place);
  return leaning ? dropRepeats([...leaningCoverages(evidence, place, leaning), ...partCoverages(evidence, place)]) : [];
}

function dropRepeats(coverages: Coverage[]): Coverage[] {
  const seen = new Set<string>();
  return coverages.filter((coverage) => {
    const key = coverage.join();
    return !seen.has(key) && seen.add(key);
  });
}

const CHOICES_BITS_MAX = 8;

/** Runs over what a sum's lowest bit leans on, and the bytes that it leans on with all still ones; on long frames. */
export function sumCoverages(evidence: Evidence, place: TagPlace, leaning: Leaning): Coverage[] {
  const { bytes } = evidence;
  const all = Array.from({ length: bytes }, (_, byte) => byte).filter((byte) => !isAllTag(place, byte));
  const chosen = all.filter((byte) => leaning.on[byte] !== 0 || !movesOutsideTag(evidence, place, byte));
  return dropRepeats([
    ...leaningCoverages(evidence, place, leaning),
    ...(touchesTaken(evidence, chosen) ? [] : [chosen]),
    ...partCoverages(evidence, place),
  ]);
}

/** Whether a coverage leaves out bytes that move of one that has been tried, more than one: they are guarded apart. */
export function leavesOut(evidence: Evidence, place: TagPlace, narrow: Coverage, wide: Coverage): boolean {
  const isPart = narrow.length < wide.length && narrow.every((byte) => wide.includes(byte));
  return isPart && wide.filter((byte) => !narrow.includes(byte) && movesOutsideTag(evidence, place, byte)).length > 1;
}

/** Runs, and on short frames every choice of moving bytes with all still bytes added; larger choices first. */
export function anyCoverages(evidence: Evidence, place: TagPlace): Coverage[] {
  const moving: number[] = [];
  const still: number[] = [];
  for (let byte = 0; byte < evidence.bytes; byte++) {
    if (isAllTag(place, byte)) continue;
    (movesOutsideTag(evidence, place, byte) ? moving : still).push(byte);
  }
  const runs = contiguousCoverages(evidence, place);
  if (moving.length > CHOICES_BITS_MAX || evidence.taken.some((bits) => bits !== 0)) return runs;
  const choices: Coverage[] = [];
  for (let choice = (1 << moving.length) - 1; choice > 0; choice--) {
    const chosen = moving.filter((_, i) => (choice >> i) & 1);
    choices.push([...chosen, ...still].sort((a, b) => a - b));
  }
  choices.sort((a, b) => b.length - a.length);
  return dropRepeats([...runs, ...choices]);
}
