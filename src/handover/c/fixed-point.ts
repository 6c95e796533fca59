/**
 * Physical values in whole numbers: value = coded x `multiply` + `add`, in counts of which `perUnit` make one unit. Where scale
 * and offset are short decimals (or ratios of small whole numbers) every raw value is represented exactly; where nothing
 * of that kind fits 64 bits, the count is the coded value itself and the scale is left to the reader of the header.
 */
import { placementLength } from '../../frames/bits.ts';
import { codedLimits } from '../../map/coding.ts';
import { tableDirection, type TablePoints } from '../../map/scaling.ts';
import type { MapSignal } from '../../map/schema.ts';
import { absolute, gcd } from './whole-numbers.ts';

export interface FixedPoint {
  readonly multiply: bigint;
  readonly add: bigint;
  /** value = physical x perUnit; null where the value is the coded one, to be scaled by the reader. */
  readonly perUnit: bigint | null;
  /** [coded, value] points instead of a multiple; rising in coded. */
  readonly table: readonly (readonly [bigint, bigint])[] | null;
  /** Least and greatest value that the bits stand for. */
  readonly min: bigint;
  readonly max: bigint;
  readonly type: 'int32_t' | 'int64_t';
}

/** digits x 10^-places is the shortest decimal that reads back as the same double. */
function decimalOf(value: number): { digits: bigint; places: number } {
  const [mantissa = '0', exponent = '0'] = value.toString().toLowerCase().split('e');
  const [whole = '0', fraction = ''] = mantissa.split('.');
  const places = fraction.length - Number(exponent);
  const digits = BigInt(whole + fraction);
  return places >= 0 ? { digits, places } : { digits: digits * 10n ** BigInt(-places), places: 0 };
}

/** Beyond so many decimals a figure is taken for a rounded ratio, not for a decimal that someone wrote. */
const MOST_PLACES = 9;
const MOST_DENOMINATOR = 100_000;

/** The ratio of small whole numbers that gives this very double, by continued fraction; null where there is none. */
function ratioOf(value: number): { over: bigint; under: bigint } | null {
  let [h0, h1, k0, k1] = [0n, 1n, 1n, 0n];
  let rest = Math.abs(value);
  for (let i = 0; i < 40; i++) {
    const whole = Math.floor(rest);
    if (!Number.isSafeInteger(whole)) return null;
    [h0, h1] = [h1, BigInt(whole) * h1 + h0];
    [k0, k1] = [k1, BigInt(whole) * k1 + k0];
    if (k1 > BigInt(MOST_DENOMINATOR)) return null;
    if (Number(h1) / Number(k1) === Math.abs(value)) return { over: value < 0 ? -h1 : h1, under: k1 };
    rest = 1 / (rest - whole);
  }
  return null;
}

interface Line {
  readonly multiply: bigint;
  readonly add: bigint;
  readonly perUnit: bigint;
}

function decimalLine(scale: number, offset: number): (Line & { places: number }) | null {
  const [a, b] = [decimalOf(scale), decimalOf(offset)];
  const places = Math.max(a.places, b.places);
  if (places > 40) return null;
  const shift = (part: { digits: bigint; places: number }): bigint => part.digits * 10n ** BigInt(places - part.places);
  return { multiply: shift(a), add: shift(b), perUnit: 10n ** BigInt(places), places };
}

function ratioLine(scale: number, offset: number): Line | null {
  const [a, b] = [ratioOf(scale), ratioOf(offset)];
  if (!a || !b) return null;
  const perUnit = (a.under / gcd(a.under, b.under)) * b.under;
  return { multiply: (a.over * perUnit) / a.under, add: (b.over * perUnit) / b.under, perUnit };
}

const MOST = 2n ** 62n;
const least = (values: readonly bigint[]): bigint => values.reduce((a, b) => (b < a ? b : a));
const greatest = (values: readonly bigint[]): bigint => values.reduce((a, b) => (b > a ? b : a));
const typeOf = (min: bigint, max: bigint): FixedPoint['type'] =>
  min >= -(2n ** 31n) + 1n && max < 2n ** 31n ? 'int32_t' : 'int64_t';

interface WholeLimits {
  readonly min: bigint;
  readonly max: bigint;
}

function lineOver(line: Omit<Line, 'perUnit'> & { perUnit: bigint | null }, coded: WholeLimits): FixedPoint | null {
  const ends = [coded.min, coded.max].map((end) => end * line.multiply + line.add);
  const [min, max] = [least(ends), greatest(ends)];
  // Room for the half step that still rounds to an end, and for the difference to the offset.
  const room = absolute(line.multiply) + absolute(line.add);
  if (absolute(min) + room > MOST || absolute(max) + room > MOST || line.multiply === 0n) return null;
  return {
    multiply: line.multiply,
    add: line.add,
    perUnit: line.perUnit,
    table: null,
    min,
    max,
    type: typeOf(min, max),
  };
}

/** Decimal places of a table: its own, and more where a raw step would be less than four counts and could not come back. */
function tableLine(points: TablePoints): FixedPoint | null {
  if (points.some(([raw]) => !Number.isSafeInteger(raw))) return null;
  let places = Math.max(...points.map(([, physical]) => decimalOf(physical).places));
  const slopes = points.slice(1).map(([raw, physical], i) => {
    const [raw0, physical0] = points[i] as readonly [number, number];
    return Math.abs((physical - physical0) / (raw - raw0));
  });
  if (tableDirection(points) !== 0) while (places < 18 && slopes.some((slope) => slope * 10 ** places < 4)) places++;
  if (places > 18) return null;
  const whole = points.map(([raw, physical]): readonly [bigint, bigint] => {
    const { digits, places: own } = decimalOf(physical);
    return [BigInt(raw), digits * 10n ** BigInt(places - own)];
  });
  const values = whole.map(([, value]) => value);
  const [min, max] = [least(values), greatest(values)];
  const raws = whole.map(([raw]) => raw);
  const product = (max - min + 1n) * (greatest(raws) - least(raws) + 1n);
  if (product > MOST || absolute(min) > MOST || absolute(max) > MOST) return null;
  return { multiply: 1n, add: 0n, perUnit: 10n ** BigInt(places), table: whole, min, max, type: typeOf(min, max) };
}

/** For a signal of at most 53 bits that is a number and no float. */
export function fixedPointOf(signal: MapSignal): FixedPoint {
  const limits = codedLimits(signal.coding, placementLength(signal)) ?? { min: 0, max: 0 };
  const coded = { min: BigInt(limits.min), max: BigInt(limits.max) };
  const counts = lineOver({ multiply: 1n, add: 0n, perUnit: null }, coded) as FixedPoint;
  if (signal.table && signal.table.length > 0) return tableLine(signal.table) ?? counts;
  const decimal = decimalLine(signal.scale, signal.offset);
  const ratio = ratioLine(signal.scale, signal.offset);
  const isShort = decimal !== null && decimal.places <= MOST_PLACES;
  const lines = isShort ? [decimal, ratio] : [ratio, decimal];
  for (const line of lines) {
    const found = line && lineOver(line, coded);
    if (found) return found;
  }
  return counts;
}
