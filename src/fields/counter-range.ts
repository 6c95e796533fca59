/**
 * Which step a run of values has and between which ends it goes: guesses, of which the steps themselves then choose. A filling or a broken frame lies
 * beyond the ends, and a step of 3 modulo 15 never shows some values within.
 */

export interface Rule {
  readonly step: number;
  readonly min: number;
  readonly max: number;
}

/** Widest counter looked for, in bits. */
export const WIDTH_MAX = 16;

/** Times of whole numbers from 0 to below 2^17, in the order first met; used again for every placement. */
class Times {
  private readonly counts = new Uint32Array(2 ** (WIDTH_MAX + 1));
  private met: number[] = [];

  clear(): void {
    for (const each of this.met) this.counts[each] = 0;
    this.met = [];
  }

  add(value: number): void {
    if (this.counts[value]!++ === 0) this.met.push(value);
  }

  /** The most frequent one and the next: of equals the first met; 0 times where there is none. */
  most(): { readonly value: number; readonly times: number; readonly nextTimes: number } {
    let [value, times, nextTimes] = [0, 0, 0];
    for (const each of this.met) {
      const own = this.counts[each] as number;
      if (own > times) [value, times, nextTimes] = [each, own, times];
      else if (own > nextTimes) nextTimes = own;
    }
    return { value, times, nextTimes };
  }
}
const TIMES = new Times();

export interface Guess extends Rule {
  /** Steps from one row to the next that are not 0, and how many of them any rule with this step may explain at most. */
  readonly changes: number;
  readonly explained: number;
}

/** The most frequent step other than 0, modulo 2^length, and the least and greatest value between which it runs. */
export function guessRule(values: Uint32Array, joined: Uint8Array, length: number): Guess | null {
  const modulus = 2 ** length;
  TIMES.clear();
  let [min, max, changes] = [Infinity, 0, 0];
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    if (value < min) min = value;
    if (value > max) max = value;
    if (row === 0 || joined[row] === 0) continue;
    const step = (value - (values[row - 1] as number) + modulus) & (modulus - 1);
    if (step === 0) continue;
    changes++;
    TIMES.add(step);
  }
  // Whatever its modulus, a rule steps by its step or, coming round, by one other amount.
  const { value: best, times, nextTimes } = TIMES.most();
  if (times === 0) return null;
  return { step: best > modulus / 2 ? best - modulus : best, min, max, changes, explained: times + nextTimes };
}

/** Without a stray value at an end (a start-up filling): a counter visits its ends as often as its middle. */
function tightenRange(values: Uint32Array, rule: Rule): Rule {
  const width = rule.max - rule.min + 1;
  if (width > 256) return rule;
  const times = new Uint32Array(width);
  for (let row = 0; row < values.length; row++) times[(values[row] as number) - rule.min]!++;
  const few = values.length / width / 4;
  let { min, max } = rule;
  if ((times[min - rule.min] as number) < few) min++;
  if ((times[max - rule.min] as number) < few) max--;
  return max - min >= 1 ? { ...rule, min, max } : rule;
}

/** The amount by which it mostly jumps back, against its step, and how often; 0 where it never does. */
function usualRound(
  values: Uint32Array,
  joined: Uint8Array,
  rule: Rule,
  length: number,
): { by: number; times: number } {
  const shift = 2 ** length;
  const back = -Math.sign(rule.step);
  TIMES.clear();
  for (let row = 1; row < values.length; row++) {
    const jump = (values[row] as number) - (values[row - 1] as number);
    if (joined[row] !== 0 && jump * back > 0) TIMES.add(jump + shift);
  }
  const { value, times } = TIMES.most();
  return { by: times === 0 ? 0 : value - shift, times };
}

/** The modulus from how it comes round: a step of 3 modulo 15 goes from 12 to 0 and never shows 13 or 14. */
function widenRange(values: Uint32Array, joined: Uint8Array, rule: Rule, length: number): Rule {
  const round = usualRound(values, joined, rule, length).by;
  const modulus = Math.abs(rule.step - round);
  const min = Math.min(rule.min, 2 ** length - modulus);
  const max = min + modulus - 1;
  return round !== 0 && min >= 0 && max > rule.max ? { ...rule, min, max } : rule;
}

/** Between the values at which it mostly comes round, however far a filling or a broken frame lies beyond them. */
function rangeOfRounds(values: Uint32Array, joined: Uint8Array, rule: Rule, length: number): Rule {
  const { by, times } = usualRound(values, joined, rule, length);
  if (times < ROUNDS_TOLD) return rule;
  let [min, max] = [Infinity, 0];
  for (let row = 1; row < values.length; row++) {
    const [before, now] = [values[row - 1] as number, values[row] as number];
    if (joined[row] === 0 || now - before !== by) continue;
    min = Math.min(min, before, now);
    max = Math.max(max, before, now);
  }
  // Where the highest bit stands still throughout, it is no part of the counter.
  return (min ^ max) >> (length - 1) === 0 ? rule : { ...rule, min, max };
}
const ROUNDS_TOLD = 2;

/** The guess and what its range may be else, each once. */
export function rangesOf(values: Uint32Array, joined: Uint8Array, { step, min, max }: Guess, length: number): Rule[] {
  const guess: Rule = { step, min, max };
  const tight = tightenRange(values, guess);
  const isSame = (a: Rule, b: Rule): boolean => a.min === b.min && a.max === b.max;
  const own = [guess, tight, rangeOfRounds(values, joined, guess, length)];
  const all = own.flatMap((rule) => [rule, widenRange(values, joined, rule, length)]);
  return all.filter((rule, index) => all.findIndex((each) => isSame(each, rule)) === index);
}

/** Fewer values than this, come to in steps of a whole part of the range, are turns of a few values. */
export const VALUES_MIN = 4;

/** The greatest common divisor. */
export const commonPart = (a: number, b: number): number => (b === 0 ? a : commonPart(b, a % b));

/** Whether it comes to enough values; to few only where they are all that its bits allow, but one. */
export function runsThroughEnough({ step, min, max }: Rule, length: number): boolean {
  const range = max - min + 1;
  const values = range / commonPart(range, Math.abs(step));
  return values >= VALUES_MIN || (values === range && min <= 1 && max - min >= 2 ** length - 2);
}
