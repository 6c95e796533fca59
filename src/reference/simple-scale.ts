/**
 * Engineers choose round scales. Where one lies within the error of the scale found, it is named beside it, the simplest
 * first; where several of equal simplicity do, or the error is wide, none is. Which scales are usual is
 * common practice, no source.
 */
import { isUnitOfSpeed } from '../kit/unit-conversion.ts';

interface SimpleScale {
  readonly value: number;
  /** Less is simpler. */
  readonly rank: number;
}

function allScales(): SimpleScale[] {
  const scales: SimpleScale[] = [];
  for (let power = -6; power <= 4; power++) {
    for (const [digit, rank] of [
      [1, 0],
      [5, 1],
      [2, 1],
      [2.5, 2],
      [4, 3],
      [1.5, 4],
      [3, 4],
      [6, 4],
      [8, 3],
    ] as const) {
      scales.push({ value: Number((digit * 10 ** power).toPrecision(3)), rank });
    }
  }
  for (let power = 1; power <= 15; power++) scales.push({ value: 2 ** -power, rank: power <= 8 ? 1 : 2 });
  for (const value of [
    100 / 255,
    100 / 256,
    100 / 250,
    1 / 3.6,
    360 / 4096,
    360 / 65536,
    100 / 1023,
    100 / 4095,
    1 / 3,
    1 / 6,
  ]) {
    scales.push({ value, rank: 2 });
  }
  return scales;
}
const SCALES = allScales();

/** Wider than this share of the scale, an error lets too many scales in to choose one. */
const WIDEST_SHARE = 0.03;

/** Speeds by satellite or dashboard are off by percents (tyres, display over-reading): no scale may be read from them. */
export function isCoarseSpeed(name: string, unit: string): boolean {
  return /gps|gnss|satellite|dash|display|speedo/i.test(name) && (isUnitOfSpeed(unit) || /speed/i.test(name));
}

/**
 * @param half half width of the scale's 95 % interval
 * @returns the scale with the sign of the one found, or null
 */
export function simpleScaleNear(scale: number, half: number): number | null {
  const size = Math.abs(scale);
  if (!(half < WIDEST_SHARE * size)) return null;
  // The error never gets so small that rounding in the reference itself would matter.
  const reach = Math.max(half, 0.001 * size);
  const inside = SCALES.filter(({ value }) => Math.abs(value - size) <= reach).sort(
    (a, b) => a.rank - b.rank || Math.abs(a.value - size) - Math.abs(b.value - size),
  );
  const [first, second] = inside;
  if (!first) return null;
  const rivals = second && second.rank === first.rank && second.value !== first.value;
  return rivals ? null : Math.sign(scale) * first.value;
}

/** Scales as simple as this round one, or simpler, in the decade about it: how easily one that means nothing comes near. */
export function simpleScalesAbout(simple: number): number {
  const size = Math.abs(simple);
  const rank = Math.max(...SCALES.filter(({ value }) => value === size).map((scale) => scale.rank));
  const about = SCALES.filter((scale) => scale.rank <= rank && Math.abs(Math.log10(scale.value / size)) <= 0.5);
  return about.length;
}

/**
 * The roundest offset within `half` of the one found: none at all, else a multiple of the coarsest power of ten, five
 * or scale that fits.
 */
export function simpleOffsetNear(offset: number, half: number, scale: number): number {
  if (Math.abs(offset) <= half) return 0;
  for (let power = 4; power >= -4; power--) {
    for (const digit of [5, 1]) {
      const step = digit * 10 ** power;
      const near = Math.round(offset / step) * step;
      if (near !== 0 && Math.abs(near - offset) <= half) return Number(near.toPrecision(10));
    }
  }
  const ofScale = Math.round(offset / scale) * scale;
  return Math.abs(ofScale - offset) <= half ? ofScale : offset;
}
