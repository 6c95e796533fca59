/**
 * The unit of numeric stamps. A heading is believed unless the bus could not have carried the frames
 * so; without one, the unit is taken under which the rate of frames is most plausible.
 */
import type { TimeForm } from './plan.ts';
import { numberOf } from './facts.ts';
import { unitInHeading } from './words.ts';
import { plainStamp, type TimeUnit, unitBehind } from '../reading/stamps.ts';

export interface TimeFormGuess {
  readonly form: TimeForm;
  readonly words: string;
  /** The unit that the heading names, where another was taken. */
  readonly headingSaid: TimeForm | null;
  /** Frames a second, where the stamps count so many that no logger can have written them: no such stamps then. */
  readonly impossibleRate?: number;
}

const UNIT_SECONDS: Readonly<Record<TimeUnit, number>> = {
  seconds: 1,
  milliseconds: 1e-3,
  microseconds: 1e-6,
  nanoseconds: 1e-9,
};
const UNITS = Object.keys(UNIT_SECONDS) as TimeUnit[];
/** Frames a second over all buses: beyond, no bus carries it; below, nobody would have recorded. */
const FASTEST = 20_000;
/** What even a stamp of a wrong unit does not reach: numbers that are no stamps, or days as spreadsheets count. */
const BEYOND_ANY_BUS = 500_000;
const SLOWEST = 0.2;
/** Where most recordings lie (natural log), and how widely they scatter. */
const USUAL_RATE = Math.log(600);
const RATE_SPREAD = Math.log(8);
const EPOCH_RANGE = [5e8, 4.2e9] as const;

/** Stamps that each count from the row before. */
export function guessStepForm(heading: string, written: readonly string[]): TimeFormGuess {
  let reached = 0;
  const values = written.map((cell) => (reached += numberOf(plainStamp(cell)) || 0));
  const guess = guessUnit(heading, written, values);
  return {
    ...guess,
    form: `${guess.form as TimeUnit}-steps`,
    words: `${guess.words}; each stamp was taken to count from the row before, because they do not rise or the heading says so; they were added up`,
  };
}

/** `written`: the cells in file order from the head. */
export function guessTimeForm(heading: string, written: readonly string[]): TimeFormGuess {
  const values = written.map((cell) => numberOf(plainStamp(cell))).filter((value) => !Number.isNaN(value));
  return guessUnit(heading, written, values);
}

/** `values`: the stamps in file order, counted from any start. */
function guessUnit(heading: string, written: readonly string[], values: readonly number[]): TimeFormGuess {
  const behind = unitBehind(written.find((cell) => cell !== '') ?? '');
  if (behind) return { form: behind, words: `${behind}, as is written behind the stamps`, headingSaid: null };
  const cells = written.map(plainStamp);
  const rate = framesPerUnit(values);
  const named = unitInHeading(heading);
  const decimals = typicalDecimals(cells);
  const scored = UNITS.map((unit) => ({ unit, score: scoreOf(unit, rate, values, decimals) }));
  const best = scored.reduce((a, b) => (b.score > a.score ? b : a)).unit;
  const rateWords = (unit: TimeUnit): string => `${plainRate(rate / UNIT_SECONDS[unit])} frames/s`;
  const impossible = rate / UNIT_SECONDS[best] > BEYOND_ANY_BUS ? { impossibleRate: rate / UNIT_SECONDS[best] } : {};
  if (named === null)
    return { form: best, words: `${best}, because that gives ${rateWords(best)}`, headingSaid: null, ...impossible };
  const namedUnit = named as TimeUnit;
  if (!Number.isFinite(rate) || isPossible(rate / UNIT_SECONDS[namedUnit])) {
    return { form: named, words: `${named}, as the heading says (${rateWords(namedUnit)})`, headingSaid: null };
  }
  if (best === named) return { form: named, words: `${named}, as the heading says`, headingSaid: null };
  return {
    form: best,
    words: `${best}: the heading says ${named}, but that would be ${rateWords(namedUnit)}, and ${best} gives ${rateWords(best)}`,
    headingSaid: named,
  };
}

const isPossible = (rate: number): boolean => rate <= FASTEST && rate >= SLOWEST;

const plainRate = (rate: number): string =>
  !Number.isFinite(rate) ? 'an unknown number of' : rate >= 10 ? Math.round(rate).toString() : rate.toPrecision(2);

/** Frames per unit of the stamps, by the mean step without the largest tenth (pauses, lonely rows). */
function framesPerUnit(values: readonly number[]): number {
  const steps: number[] = [];
  for (let i = 1; i < values.length; i++) steps.push(Math.abs((values[i] as number) - (values[i - 1] as number)));
  steps.sort((a, b) => a - b);
  const kept = steps.slice(0, Math.max(1, Math.ceil(steps.length * 0.9)));
  const mean = kept.reduce((a, b) => a + b, 0) / kept.length;
  return mean > 0 ? 1 / mean : Number.NaN;
}

function typicalDecimals(cells: readonly string[]): number {
  const counts = cells.map((cell) => /[.,](\d+)$/.exec(cell)?.[1]?.length ?? 0).sort((a, b) => a - b);
  return counts[counts.length >> 1] ?? 0;
}

function scoreOf(unit: TimeUnit, rate: number, values: readonly number[], decimals: number): number {
  const middle = (values[values.length >> 1] ?? 0) * UNIT_SECONDS[unit];
  const isEpoch = middle >= EPOCH_RANGE[0] && middle <= EPOCH_RANGE[1];
  const isBeyond = middle > EPOCH_RANGE[1];
  const inSeconds = rate / UNIT_SECONDS[unit];
  const distance = Number.isFinite(inSeconds) ? (Math.log(inSeconds) - USUAL_RATE) / RATE_SPREAD : 0;
  const rateScore = -(distance ** 2) / 2 - (Number.isFinite(inSeconds) && !isPossible(inSeconds) ? 6 : 0);
  return rateScore + (isEpoch ? 3 : 0) - (isBeyond ? 12 : 0) + decimalScore(unit, decimals);
}

/** Seconds are written with decimals, microseconds and nanoseconds without. Common practice, no source. */
function decimalScore(unit: TimeUnit, decimals: number): number {
  if (unit === 'seconds') return decimals >= 4 ? 3 : decimals === 0 ? -2 : 0.5;
  if (unit === 'milliseconds') return decimals > 3 ? -2 : 0;
  return decimals > (unit === 'microseconds' ? 3 : 0) ? -4 : 0;
}
