/**
 * How a value goes from row to row, written down by a mixture of ways to foretell it: near the last value or a mean, on along its slope, its
 * pace or the line that it keeps to, by a step as often before, or anywhere. Each way that proves right gains weight (Bayes' rule), and some weight
 * goes round among all, so that a value may change its manner (fixed share; Herbster and Warmuth, Machine Learning 32, 1998). So a leap is
 * paid for once, and nothing is paid for learning what is usual, as it is where steps are counted by their size.
 */
const SHARE = 0.02;
const WAYS = 10;
const weight = new Float64Array(WAYS);
const chance = new Float64Array(WAYS);

/** How far off each way usually is: a running mean that leans by this much to each new row; 0 where none is kept. */
const LEANING = [1 / 8, 1 / 8, 1 / 8, 1 / 8, 1 / 64, 0, 0, 1 / 16, 1 / 8, 0];
const [LAST, SLOPE, PACE, MEAN, LEVEL, ALIKE, ANYWHERE, LINE, HALF_SLOPE, AS_BEFORE] = [
  0, 1, 2, 3, 4, 5, 6, 7, 8, 9,
] as const;
const spread = new Float64Array(WAYS);
const SPREAD_FIRST = 4;
/** Of a row that is further off than this many times the usual, no more than that is learnt. */
const FAR_OFF = 6;
/** Values are whole: no spread is narrower. */
const SPREAD_LEAST = 0.05;

/** Student's t of four degrees of freedom, its share up to x, less one half. */
function shareUpTo(x: number): number {
  const r = x / Math.sqrt(1 + (x * x) / 4);
  return 0.375 * r * (1 - (r * r) / 12);
}

/** How likely a whole number so far off is, of so wide a spread: a bell with heavy tails. */
const bell = (off: number, width: number): number => {
  const by = width + SPREAD_LEAST;
  return shareUpTo((off + 0.5) / by) - shareUpTo((off - 0.5) / by);
};

/** Size classes of steps, the larger the less likely, whatever the width of the value. */
const CLASSES = 34;
const CLASS_POWER = -1.2;
const OF_CLASS = (() => {
  const shares = Float64Array.from({ length: CLASSES }, (_, size) => (size + 3) ** CLASS_POWER);
  const sum = shares.reduce((a, b) => a + b, 0);
  return shares.map((share, size) => (share / sum) * (size === 0 ? 0.5 : 2 ** -size));
})();

/** Sizes of steps that came before, the commonest of them, and how often each did. */
const KNOWN = 6;
const sizes = new Float64Array(KNOWN);
const times = new Float64Array(KNOWN);

export interface Course {
  /** [rows] whole numbers from 0 up. */
  readonly values: Float64Array;
  /** [rows] 1 where the value begins anew: behind a gap, or where it leaps to or from "no data". */
  readonly begins: Uint8Array;
}

function noteSize(place: number, size: number): void {
  if (place >= 0) {
    times[place]!++;
    return;
  }
  let least = 0;
  for (let i = 1; i < KNOWN; i++) if (times[i]! < times[least]!) least = i;
  sizes[least] = size;
  times[least] = 1;
}

/**
 * Bits for all rows of the course, its beginnings excluded, or for its moves alone, told that it moves.
 * @param range where the value comes round: it takes 0 to range - 1
 */
export function courseBits({ values, begins }: Course, range: number, onlyMoves: boolean): number {
  weight.fill(1 / WAYS);
  spread.fill(SPREAD_FIRST);
  sizes.fill(NaN);
  times.fill(0);
  const half = range / 2;
  const off = (by: number): number => (by >= half ? by - range : by < -half ? by + range : by);
  const within = (value: number): number => (value < 0 ? value + range : value >= range ? value - range : value);
  let [bits, product, told] = [0, 1, 0];
  let [before, step, pace, mean, level, line, linePace] = [0, 0, 0, 0, NaN, 0, 0];
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    if (begins[row] === 1) {
      before = mean = line = value;
      if (Number.isNaN(level)) level = value;
      step = 0;
      continue;
    }
    if (onlyMoves && value === before) continue;
    const moved = off(value - before);
    const fromPace = off(moved - pace);
    const fromMean = off(value - mean);
    const fromLevel = off(value - level);
    const fromLine = off(off(value - line) - linePace);
    const size = Math.abs(moved);
    // Told that it moves, a step of none is no choice.
    const further = onlyMoves ? size - 1 : size;
    const alike = Math.abs(step) / 2 + 0.5;
    let place = -1;
    for (let i = 0; i < KNOWN; i++) if (sizes[i] === size) place = i;
    chance[LAST] = bell(further, spread[LAST]!) / (onlyMoves ? 1 + bell(0, spread[LAST]!) : 1);
    chance[ALIKE] = bell(further, alike) / (onlyMoves ? 1 + bell(0, alike) : 1);
    chance[SLOPE] = bell(Math.abs(off(moved - step)), spread[SLOPE]!);
    chance[HALF_SLOPE] = bell(Math.abs(off(moved - step / 2)), spread[HALF_SLOPE]!);
    chance[PACE] = bell(Math.abs(fromPace), spread[PACE]!);
    chance[MEAN] = bell(Math.abs(fromMean), spread[MEAN]!);
    chance[LEVEL] = bell(Math.abs(fromLevel), spread[LEVEL]!);
    chance[LINE] = bell(Math.abs(fromLine), spread[LINE]!);
    chance[ANYWHERE] = OF_CLASS[32 - Math.clz32(further)]!;
    chance[AS_BEFORE] = place < 0 ? 0 : (times[place]! / (told + 2)) * (size === 0 ? 1 : 0.5);
    let total = 0;
    for (let i = 0; i < WAYS; i++) total += weight[i]! * chance[i]!;
    product *= total;
    if (product < 1e-200) {
      bits -= Math.log2(product);
      product = 1;
    }
    const kept = (1 - SHARE) / total;
    for (let i = 0; i < WAYS; i++) weight[i] = SHARE / WAYS + kept * weight[i]! * chance[i]!;
    noteSize(place, size);
    told++;
    lean(LAST, further);
    lean(SLOPE, Math.abs(off(moved - step)));
    lean(HALF_SLOPE, Math.abs(off(moved - step / 2)));
    lean(PACE, Math.abs(fromPace));
    lean(MEAN, Math.abs(fromMean));
    lean(LEVEL, Math.abs(fromLevel));
    lean(LINE, Math.abs(fromLine));
    step = moved;
    pace += fromPace / 16;
    mean = within(mean + fromMean / 4);
    level = within(level + fromLevel / 64);
    line = within(within(line + linePace) + fromLine / 4);
    linePace += fromLine / 32;
    before = value;
  }
  return bits - Math.log2(product);
}

function lean(way: number, off: number): void {
  const usual = spread[way]!;
  spread[way] = usual + LEANING[way]! * (Math.min(off, FAR_OFF * usual + 1) - usual);
}
