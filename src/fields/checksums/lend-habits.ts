/**
 * The rules that the identifiers of a bus obey: secrets differ, rules seldom do. What was solved beyond doubt in a well-sampled frame is kept without
 * the frame's own constants, with where the tag and its counter lie in the part it guards. Plain data.
 */
import { bitPositions, type ByteOrder, type Placement } from '../../frames/bits.ts';
import type { MapChecksum, MapCounter } from '../../map/schema.ts';
import type { FrameFindings } from '../types.ts';
import { coveredBytes } from './judge.ts';

/** A tag's first byte, counted from the first, the last or the middle byte of the part that it guards. */
export interface TagSpot {
  readonly from: 'first' | 'last' | 'middle';
  readonly offset: number;
  readonly bit: number;
  /** Identifiers whose tag lies so. */
  readonly frames: number;
}

/** A counter, its byte counted from the tag's first one. */
export interface CounterSpot {
  readonly offset: number;
  readonly bit: number;
  readonly length: number;
  readonly step: number;
  readonly min: number;
  readonly max: number;
}

export interface RuleHabit {
  readonly method: MapChecksum['method'];
  readonly length: number;
  readonly order: ByteOrder;
  readonly unit: 'byte' | 'nibble';
  /** Sums only. */
  readonly carry: 'drop' | 'end-around';
  readonly complemented: boolean;
  /** CRCs only. */
  readonly poly: number;
  readonly reflected: boolean;
  /** Constant bytes behind the covered ones. */
  readonly suffixBytes: number;
  readonly byCounter: 'prefix' | 'suffix' | null;
  readonly spots: readonly TagSpot[];
  readonly counters: readonly CounterSpot[];
  /** Identifiers that obey it. */
  readonly frames: number;
}

const SURE = 0.9;
const TAG_SURE = 0.75;

/** Whether the rule can be computed; of other tags only the place is known. */
export const isSolved = ({ method }: Pick<MapChecksum, 'method'>): boolean => method !== 'mac' && method !== 'unsolved';

export type Rule = Omit<RuleHabit, 'spots' | 'counters' | 'frames'>;

/** Whether two rules are one, wherever their tags lie. */
export function isSameRule(a: Rule, b: Rule): boolean {
  const keys = [
    'method',
    'length',
    'order',
    'unit',
    'carry',
    'complemented',
    'poly',
    'reflected',
    'suffixBytes',
  ] as const;
  return keys.every((key) => a[key] === b[key]) && a.byCounter === b.byCounter;
}

const hexOf = (text: string | undefined): number => Number(text ?? '0x0');

export function ruleOf(checksum: MapChecksum): Rule {
  const { method, length, order, suffix = [], suffixByCounter, prefixByCounter } = checksum;
  const isSum = method === 'sum';
  const isCrc = method === 'crc';
  return {
    method,
    length,
    order: order as ByteOrder,
    unit: checksum.unit === 'nibble' ? 'nibble' : 'byte',
    carry: isSum && checksum.carry === 'end-around' ? 'end-around' : 'drop',
    complemented: isSum && hexOf(checksum.xorout) !== 0,
    poly: isCrc ? hexOf(checksum.poly) : 0,
    reflected: isCrc && checksum.refin === true,
    suffixBytes: isCrc ? (suffixByCounter?.[0]?.length ?? suffix.length) : 0,
    byCounter: suffixByCounter ? 'suffix' : prefixByCounter ? 'prefix' : null,
  };
}

/** First and last byte of the part that a rule guards, its tag with it; the whole frame where nothing says otherwise. */
function partOf(checksum: MapChecksum, length: number): readonly [number, number] {
  const tag = bitPositions(checksum as Placement).map((at) => at >> 3);
  const bytes = [...coveredBytes(checksum), ...tag];
  return isSolved(checksum) ? [Math.min(...bytes), Math.max(...bytes)] : [0, length - 1];
}

const firstByte = (checksum: Placement): number => Math.min(...bitPositions(checksum).map((at) => at >> 3));

/** Where a tag of so many bytes would begin to lie in the middle of a part. */
export const middleOf = (first: number, last: number, wide: number): number =>
  first + Math.floor((last - first + 1 - wide) / 2);

/** The first byte of a tag at a spot of a part. */
export const startOf = ({ from, offset }: TagSpot, first: number, last: number, wide: number): number =>
  offset + (from === 'first' ? first : from === 'last' ? last : middleOf(first, last, wide));

export function spotsOf(checksum: MapChecksum, length: number): TagSpot[] {
  const [first, last] = partOf(checksum, length);
  const at = firstByte(checksum as Placement);
  const wide = Math.max(1, checksum.length / 8);
  const bit = checksum.length < 8 ? checksum.lsb.bit : 0;
  return [
    { from: 'first', offset: at - first, bit, frames: 1 },
    { from: 'last', offset: at - last, bit, frames: 1 },
    { from: 'middle', offset: at - middleOf(first, last, wide), bit, frames: 1 },
  ];
}

function counterSpotOf(checksum: MapChecksum, counters: readonly MapCounter[]): CounterSpot[] {
  const at = firstByte(checksum as Placement);
  const wide = Math.ceil(checksum.length / 8);
  const own = counters.find(({ lsb }) => lsb.byte >= at - 1 && lsb.byte <= at + wide);
  if (!own) return [];
  const { lsb, length, step, min, max } = own;
  return [{ offset: lsb.byte - at, bit: lsb.bit, length, step, min, max }];
}

const without = <T>(all: readonly T[], more: readonly T[]): T[] => {
  const seen = new Set(all.map((each) => JSON.stringify(each)));
  return more.filter((each) => !seen.has(JSON.stringify(each)));
};

export const isSameSpot = (a: TagSpot, b: TagSpot): boolean =>
  a.from === b.from && a.offset === b.offset && a.bit === b.bit;

/** The spots of one more identifier counted with the others. */
function withSpots(all: readonly TagSpot[], more: readonly TagSpot[]): TagSpot[] {
  const counted = all.map((spot) =>
    more.some((each) => isSameSpot(each, spot)) ? { ...spot, frames: spot.frames + 1 } : spot,
  );
  return [...counted, ...more.filter((each) => !all.some((spot) => isSameSpot(each, spot)))];
}

/** Whether a checksum is beyond doubt; a tag that no rule explains, known by its place alone, with less. */
export const isSure = (checksum: MapChecksum): boolean => checksum.confidence >= (isSolved(checksum) ? SURE : TAG_SURE);

/** A value that is written once more turned over, of any length, is a frame's own. */
const isOfHouse = ({ method, length }: MapChecksum): boolean => method !== 'copy' || length === 8 || length === 4;

/** What the identifiers of one bus obey; the rule of most of them first. */
export function rulesOf(findings: readonly FrameFindings[]): RuleHabit[] {
  const byRule = new Map<string, RuleHabit>();
  for (const { checksums, counters, length } of findings) {
    for (const checksum of checksums.filter((each) => isSure(each) && isOfHouse(each))) {
      const rule = ruleOf(checksum);
      const key = JSON.stringify(rule);
      const before = byRule.get(key) ?? { ...rule, spots: [], counters: [], frames: 0 };
      byRule.set(key, {
        ...before,
        frames: before.frames + 1,
        spots: withSpots(before.spots, spotsOf(checksum, length)),
        counters: [...before.counters, ...without(before.counters, counterSpotOf(checksum, counters))],
      });
    }
  }
  return [...byRule.values()].sort((a, b) => b.frames - a.frames);
}
