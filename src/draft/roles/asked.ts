/**
 * What is asked for and what is done of it, on even instants: the command in the answer's own values. Scale and zero are told by the capture: where the
 * command rests or is least, and the ratio that is shown most.
 */
import { quantile, sorted } from '../../kit/statistics/order.ts';
import { readAt, type Course } from './course.ts';
import { runsOf } from './instants.ts';
import { restOf } from './prepared.ts';

/** Share of its farthest below which nothing much is asked for. */
const ASKS = 0.08;
/** About its zero it is so near, of its farthest, and for so many points. */
const AT_ZERO = 0.02;
const ZERO_POINTS = 10;
/** Ratios within this share of each other are one. */
const RATIO_WIDE = 0.06;
/** The greatest ratio shown nearly as often as the commonest is that of what nothing holds back. */
const NEARLY_AS_OFTEN = 0.5;
/** Less than asked by so much of what is asked and of all it ever does, besides what dithers. */
const OF_ASKED = 0.06;
const OF_ALL = 0.025;
const DITHERS = 3;
/** No lag lasts so long, and so many times itself. */
const LASTS_US = 500_000;
const LASTS_LAGS = 3;
const POINTS_LEAST = 60;
const STEP_LEAST_US = 50_000;
const POINTS_MOST = 10_000;

export const shortStepUs = (lengthUs: number): number => Math.max(STEP_LEAST_US, lengthUs / POINTS_MOST);

export interface Laid {
  readonly stepUs: number;
  /** [points] distance from zero, the command's as the answer has it. */
  readonly asked: Float64Array;
  readonly done: Float64Array;
  /** Zero is the least that is asked for: what is done below it is still less. */
  readonly oneSided: boolean;
  /** [points] how much less may be done than asked for before it is sure that it is less. */
  readonly unsure: Float64Array;
  /** Greatest distance that is done. */
  readonly most: number;
  /** Share of the time in which more is done than asked for, for longer than a lag lasts. */
  readonly beyond: number;
  /** Points that no lag lasts for. */
  readonly lasts: number;
  /** Answer's raw values for one of the command's. */
  readonly scale: number;
}

/** The ratio of what is done to what is asked for while nothing holds it back; NaN where none is common. */
function freeRatio(ratios: readonly number[]): number {
  const ascending = sorted(ratios);
  const counts = new Uint32Array(ascending.length);
  let [to, most] = [0, 0];
  ascending.forEach((ratio, from) => {
    while (to < ascending.length && (ascending[to] as number) <= ratio * (1 + RATIO_WIDE)) to++;
    counts[from] = to - from;
    most = Math.max(most, to - from);
  });
  for (let from = ascending.length - 1; from >= 0; from--) {
    if ((counts[from] as number) < NEARLY_AS_OFTEN * most) continue;
    // The fullest window about here, not its first edge.
    let best = from;
    for (let k = from; k >= 0 && (ascending[k] as number) * (1 + RATIO_WIDE) >= (ascending[from] as number); k--)
      if ((counts[k] as number) > (counts[best] as number)) best = k;
    return ascending[best + ((counts[best] as number) >> 1)] as number;
  }
  return Number.NaN;
}

const farthest = (values: Float64Array): number =>
  values.reduce((most, value) => (Math.abs(value) > most ? Math.abs(value) : most), 0);

export const lengthOf = (runs: readonly (readonly [number, number])[]): number =>
  runs.reduce((sum, [from, to]) => sum + to - from, 0);

/** x, y: command and answer at the same instants, zero: of the command. */
function laidAbout(x: Float64Array, y: Float64Array, zero: number): Pick<Laid, 'asked' | 'done' | 'scale'> | null {
  const far = x.map((value) => value - zero);
  const most = farthest(far);
  const resting = Array.from(y).filter(
    (value, k) => !Number.isNaN(value) && Math.abs(far[k] as number) < AT_ZERO * most,
  );
  if (resting.length < ZERO_POINTS) return null;
  const rest = quantile(resting, 0.5);
  const done = y.map((value) => value - rest);
  const asks = Array.from(far.keys()).filter(
    (k) => Math.abs(far[k] as number) > ASKS * most && !Number.isNaN(done[k] as number),
  );
  if (asks.length < POINTS_LEAST) return null;
  const along = asks.reduce((sum, k) => sum + (far[k] as number) * (done[k] as number), 0) >= 0 ? 1 : -1;
  const ratio = freeRatio(
    asks.map((k) => (along * (done[k] as number)) / (far[k] as number)).filter((each) => each > 0),
  );
  if (!(ratio > 0)) return null;
  return { asked: far.map((value) => value * ratio * along), done, scale: ratio * along };
}

export interface Lag {
  /** In all. */
  readonly lagUs: number;
  readonly constantUs: number;
  /** Of the command. */
  readonly goesBySteps: boolean;
}

/** About one zero. oneSided: it is the least that is asked for. */
function laidWith(
  [x, y]: readonly [Float64Array, Float64Array],
  zero: number,
  oneSided: boolean,
  { stepUs, lasts, dither }: Pick<Laid, 'stepUs' | 'lasts'> & { readonly dither: number },
): Laid | null {
  const about = Number.isFinite(zero) ? laidAbout(x, y, zero) : null;
  if (!about) return null;
  // What is least is no more than nothing, whichever way the answer counts.
  const way = oneSided ? Math.sign(about.scale) : 1;
  const [asked, done] = [about.asked.map((value) => value * way), about.done.map((value) => value * way)];
  const most = farthest(done);
  const unsure = asked.map((want) => OF_ASKED * Math.abs(want) + OF_ALL * most + DITHERS * dither);
  const isBeyond = (k: number): boolean => {
    const [want, is] = [asked[k] as number, done[k] as number];
    if (oneSided) return is - want > (unsure[k] as number);
    return Math.abs(is) - (Math.sign(is) === Math.sign(want) ? Math.abs(want) : 0) > (unsure[k] as number);
  };
  const beyond = lengthOf(runsOf(y.length, isBeyond, lasts)) / y.length;
  return { asked, done, scale: about.scale, oneSided, stepUs, unsure, most, lasts, beyond };
}

/**
 * course: the command as followed with the lag's constant; both courses of one step. dither: the answer's own, raw values. null where nothing much is asked
 * for, or no ratio is common. Of two zeros it is the one about which less is done beyond what is asked for, else the least for what is set to a few heights.
 */
export function layOut(
  { value, stepUs }: Course,
  answer: Course,
  { lagUs, constantUs, goesBySteps }: Lag,
  dither: number,
): Laid | null {
  const y = answer.value;
  const x = Float64Array.from(y, (_, k) => readAt({ value, stepUs }, k * stepUs - (lagUs - constantUs)));
  const more = { stepUs, dither, lasts: Math.ceil((LASTS_US + LASTS_LAGS * Math.abs(lagUs)) / stepUs) };
  const about = (isLeast: boolean): Laid | null =>
    laidWith([x, y], isLeast ? x.reduce((low, each) => (each < low ? each : low), Infinity) : restOf(x), isLeast, more);
  const first = about(goesBySteps);
  if (first?.beyond === 0) return first;
  const second = about(!goesBySteps);
  return first && (!second || first.beyond <= second.beyond) ? first : second;
}

/** Which way more is done. */
export const sideAt = ({ asked, oneSided }: Laid, k: number): number => (oneSided ? 1 : Math.sign(asked[k] as number));

export const missingAt = (laid: Laid, k: number): number =>
  sideAt(laid, k) * ((laid.asked[k] as number) - (laid.done[k] as number));

/** Runs of at least so many points in which less is done than asked for. */
export const runsShort = (laid: Laid, least: number): [from: number, to: number][] =>
  runsOf(laid.asked.length, (k) => missingAt(laid, k) > (laid.unsure[k] as number), least);

/** The middle of the sizes. */
export const middleSize = (values: Float64Array): number => {
  const known = Array.from(values, Math.abs).filter((value) => !Number.isNaN(value));
  return known.length > 0 ? quantile(known, 0.5) : 0;
};
