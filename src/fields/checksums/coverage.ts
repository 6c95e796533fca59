/** Which bytes a checksum may cover: all others, runs of bytes around or beside it, or any choice of the bytes that move. */
import type { Evidence } from './evidence.ts';
import type { TagPlace } from './places.ts';

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

/** Beyond this many bytes only runs that begin or end at the tag are tried. */
const SHORT_FRAME = 16;

/** Runs of bytes, the longest first; a run with no moving byte is left out. */
export function contiguousCoverages(evidence: Evidence, place: TagPlace): Coverage[] {
  const { bytes } = evidence;
  const tagFirst = place.mask.findIndex((mask) => mask !== 0);
  const tagLast = bytes - 1 - [...place.mask].reverse().findIndex((mask) => mask !== 0);
  const found: Coverage[] = [];
  for (let size = bytes; size >= 1; size--) {
    for (let from = 0; from + size <= bytes; from++) {
      const to = from + size - 1;
      const atTag = from === tagFirst || to === tagLast || from === tagLast + 1 || to === tagFirst - 1;
      if (size < bytes && bytes > SHORT_FRAME && !atTag) continue;
      const covered = range(from, to, place);
      if (covered.length > 0 && covered.some((byte) => movesOutsideTag(evidence, place, byte))) {
        if (!touchesTaken(evidence, covered)) found.push(covered);
      }
    }
  }
  return dropRepeats(found);
}

function dropRepeats(coverages: Coverage[]): Coverage[] {
  const seen = new Set<string>();
  return coverages.filter((coverage) => {
    const key = coverage.join();
    return !seen.has(key) && seen.add(key);
  });
}

const CHOICES_BITS_MAX = 8;

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
