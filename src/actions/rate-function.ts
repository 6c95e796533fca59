/**
 * How surprising a mean response over n marks is for this field, in nats: n times Cramér's rate function of the field's own
 * responses at all instants (Cramér 1938; the Chernoff bound of n instants drawn at random has this
 * exponent). It puts a flag that moves twice an hour and a pedal that never rests on one scale. It is a
 * statistic, not yet a p-value: how often chance reaches it is counted over shifted marks.
 */

/** Exponents at which the cumulant function is tabulated, per unit of the field's range. */
const EXPONENTS = Float64Array.from({ length: 26 }, (_, i) => 0.05 * 1.65 ** i);
const BINS = 129;
const CENTRE = (BINS - 1) / 2;

/** ln E exp(u r) for u = +-EXPONENTS, of responses r in units of the range; positive exponents first. */
export type Cumulants = { readonly value: Float64Array; readonly slope: Float64Array };

interface Bins {
  readonly share: number[];
  readonly at: number[];
}

/** Responses gathered into bins that are narrow near zero; each bin stands at the mean of its own. */
function binResponses(response: Float64Array, range: number): Bins {
  const count = new Float64Array(BINS);
  const sum = new Float64Array(BINS);
  for (let k = 0; k < response.length; k++) {
    const r = (response[k] as number) / range;
    const size = CENTRE * Math.sqrt(r < 0 ? -r : r);
    const bin = Math.round(r < 0 ? CENTRE - size : CENTRE + size);
    const inside = bin < 0 ? 0 : bin >= BINS ? BINS - 1 : bin;
    count[inside] = (count[inside] as number) + 1;
    sum[inside] = (sum[inside] as number) + r;
  }
  const share: number[] = [];
  const at: number[] = [];
  for (let bin = 0; bin < BINS; bin++) {
    const n = count[bin] as number;
    if (n === 0) continue;
    share.push(n / response.length);
    at.push((sum[bin] as number) / n);
  }
  return { share, at };
}

export function cumulantsOf(response: Float64Array, range: number): Cumulants {
  const { share, at } = binResponses(response, range);
  const least = Math.min(...at);
  const greatest = Math.max(...at);
  const value = new Float64Array(2 * EXPONENTS.length);
  const slope = new Float64Array(2 * EXPONENTS.length);
  for (let j = 0; j < value.length; j++) {
    const positive = j < EXPONENTS.length;
    const u = positive ? (EXPONENTS[j] as number) : -(EXPONENTS[j - EXPONENTS.length] as number);
    const peak = positive ? greatest : least;
    let sum = 0;
    let weighted = 0;
    for (let b = 0; b < at.length; b++) {
      const r = at[b] as number;
      const e = (share[b] as number) * Math.exp(u * (r - peak));
      sum += e;
      weighted += e * r;
    }
    value[j] = u * peak + Math.log(sum);
    slope[j] = weighted / sum;
  }
  return { value, slope };
}

const LOOKUP = 400;

/** Tabulated rate function of a train of marks: surprise of a sum of responses, by its sign and size. */
export interface SurpriseTable {
  /** Responses' sum at which the table ends. */
  readonly end: number;
  /** [LOOKUP + 1] over sqrt(sum / end), for positive and negative sums. */
  readonly above: Float64Array;
  readonly below: Float64Array;
}

/** Rate at an even grid of sqrt(sum / end), from the tangent points of one sign. */
function lookupOf(sums: number[], rates: number[], end: number): Float64Array {
  const out = new Float64Array(LOOKUP + 1);
  let j = 0;
  for (let i = 0; i <= LOOKUP; i++) {
    const at = end * (i / LOOKUP) ** 2;
    while (j < sums.length - 1 && (sums[j + 1] as number) < at) j++;
    const [x0, x1] = [sums[j] as number, sums[j + 1] as number];
    const [y0, y1] = [rates[j] as number, rates[j + 1] as number];
    if (j >= sums.length - 1) out[i] = rates[rates.length - 1] as number;
    else out[i] = x1 > x0 ? y0 + ((y1 - y0) * Math.min(at - x0, x1 - x0)) / (x1 - x0) : y1;
  }
  return out;
}

/** Legendre transform of the summed cumulants: at each exponent the tangent touches one sum of responses. */
function tangents(
  cumulants: readonly Cumulants[],
  from: number,
  sign: number,
  range: number,
): { sums: number[]; rates: number[] } {
  const sums = [0];
  const rates = [0];
  EXPONENTS.forEach((exponent, j) => {
    let value = 0;
    let slope = 0;
    for (const one of cumulants) {
      value += one.value[from + j] as number;
      slope += one.slope[from + j] as number;
    }
    const sum = sign * slope * range;
    const rate = exponent * sign * slope - value;
    if (sum <= (sums[sums.length - 1] as number) || rate <= (rates[rates.length - 1] as number)) return;
    sums.push(sum);
    rates.push(rate);
  });
  return { sums, rates };
}

/**
 * @param cumulants one entry a mark (the same object may come often)
 * @param bothSigns false where only large responses surprise (sizes of changes)
 */
export function surpriseTable(cumulants: readonly Cumulants[], range: number, bothSigns: boolean): SurpriseTable {
  const end = range * cumulants.length;
  const up = tangents(cumulants, 0, 1, range);
  const above = lookupOf(up.sums, up.rates, end);
  if (!bothSigns) return { end, above, below: new Float64Array(LOOKUP + 1) };
  const down = tangents(cumulants, EXPONENTS.length, -1, range);
  return { end, above, below: lookupOf(down.sums, down.rates, end) };
}

/** Surprise in nats of a sum of responses. */
export function surprise(table: SurpriseTable, sum: number): number {
  const size = Math.abs(sum) / table.end;
  const at = Math.sqrt(size < 1 ? size : 1) * LOOKUP;
  const low = at | 0;
  const side = sum >= 0 ? table.above : table.below;
  const a = side[low] as number;
  return low >= LOOKUP ? a : a + (at - low) * ((side[low + 1] as number) - a);
}

/** Sums between which a surprise stays below `nats`: most shifts lie there, and need no look-up. */
export interface QuietRange {
  readonly low: number;
  readonly high: number;
}

/** Where one side of a table, which never falls, first reaches `nats`, as a size of sum; beyond its end where it never does. */
function reach(side: Float64Array, end: number, nats: number): number {
  let [i, above] = [0, LOOKUP + 1];
  while (i < above) {
    const middle = (i + above) >> 1;
    if ((side[middle] as number) < nats) i = middle + 1;
    else above = middle;
  }
  return i > LOOKUP ? 2 * end : end * (Math.max(0, i - 1) / LOOKUP) ** 2;
}

export const quietRange = ({ above, below, end }: SurpriseTable, nats: number): QuietRange => ({
  low: -reach(below, end, nats),
  high: reach(above, end, nats),
});
