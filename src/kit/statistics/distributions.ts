/**
 * Quantiles and tails of the normal and of Student's t. Normal distribution function after Abramowitz and
 * Stegun 1964, 7.1.26 would give seven digits only, so the complementary error function is the rational
 * Chebyshev fit of Press et al., Numerical Recipes, erfccheb (relative error 1.2e-7 everywhere), and quantiles are found
 * by bisection on it. Student's t goes through the normal by Hill 1970 (Algorithm 396).
 */

/** The chance that log-odds (natural logarithm) stand for. */
export const logistic = (logOdds: number): number => 1 / (1 + Math.exp(-logOdds));

/** Complementary error function; relative error below 1.2e-7. */
export function erfc(x: number): number {
  const z = Math.abs(x);
  const t = 1 / (1 + 0.5 * z);
  const coefficients = [
    -1.26551223, 1.00002368, 0.37409196, 0.09678418, -0.18628806, 0.27886807, -1.13520398, 1.48851587, -0.82215223,
    0.17087277,
  ];
  const poly = coefficients.reduceRight((sum, coefficient) => coefficient + t * sum, 0);
  const value = t * Math.exp(-z * z + poly);
  return x >= 0 ? value : 2 - value;
}

export const normalBelow = (z: number): number => 0.5 * erfc(-z / Math.SQRT2);

/** z with `share` of the standard normal below it, share in (0, 1). */
export function normalQuantile(share: number): number {
  let low = -10;
  let high = 10;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (normalBelow(middle) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Student's t with `share` (above one half) below it; Hill 1970, CACM Algorithm 396. */
export function studentQuantile(share: number, degrees: number): number {
  const both = 2 * (1 - share);
  if (degrees >= 1e6) return normalQuantile(share);
  if (degrees < 1.5) return Math.tan((Math.PI / 2) * (1 - both));
  if (degrees === 2) return Math.sqrt(2 / (both * (2 - both)) - 2);
  const a = 1 / (degrees - 0.5);
  const b = 48 / (a * a);
  let c = ((20700 * a) / b - 98) * a - 16 * a + 96.36;
  const d = ((94.5 / (b + c) - 3) / b + 1) * Math.sqrt((a * Math.PI) / 2) * degrees;
  let y = (d * both) ** (2 / degrees);
  if (y > 0.05 + a) {
    const x = normalQuantile(both / 2);
    y = x * x;
    if (degrees < 5) c += 0.3 * (degrees - 4.5) * (x + 0.6);
    c = (((0.05 * d * x - 5) * x - 7) * x - 2) * x + b + c;
    y = (((((0.4 * y + 6.3) * y + 36) * y + 94.5) / c - y - 3) / b + 1) * x;
    y = Math.expm1(a * y * y);
  } else {
    y =
      ((1 / (((degrees + 6) / (degrees * y) - 0.089 * d - 0.822) * (degrees + 2) * 3) + 0.5 / (degrees + 4)) * y - 1) *
        ((degrees + 1) / (degrees + 2)) +
      1 / y;
  }
  return Math.sqrt(degrees * y);
}

/** Chance of at least k successes of n where each has this probability: the terms from k on, each from the one before. */
export function binomialTail(k: number, n: number, probability: number): number {
  if (k <= 0) return 1;
  if (probability <= 0 || k > n) return 0;
  if (probability >= 1) return 1;
  let term = probability ** k;
  for (let i = 1; i <= k; i++) term *= (n - k + i) / i;
  term *= (1 - probability) ** (n - k);
  let sum = 0;
  for (let i = k; i <= n; i++) {
    sum += term;
    term *= ((n - i) / (i + 1)) * (probability / (1 - probability));
  }
  return Math.min(1, sum);
}
