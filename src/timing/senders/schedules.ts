/**
 * Which period a schedule means, when a clock of unknown error keeps it. Software counts ticks: of a decimal part of a second, of 1024
 * clock cycles a millisecond, or of a 1024th of a second. Several may fit; each is held against the errors that crystals and
 * ceramic resonators have. Common practice, no source.
 */

export interface Schedule {
  readonly nominalUs: number;
  /** How likely it is meant, among those that fit. */
  readonly weight: number;
}

/** Ticks that software counts, ms, and how common periods are that are whole numbers of them. */
const TICKS: readonly (readonly [tickMs: number, commonness: number])[] = [
  [10, 1],
  [5, 0.8],
  [1, 0.4],
  [0.5, 0.15],
  [1.024, 0.12],
  [0.9765625, 0.08],
  [0.1, 0.02],
];
/** Of clocks, most are crystals and some are ceramic resonators: share, and standard deviation of the error in parts per million. */
const CRYSTAL_PPM = 50;
const RESONATOR_SHARE = 0.12;
const RESONATOR_PPM = 900;
/** No clock strays further, as a share of its period: bit timing bears little more (ISO 11898-1). */
const FURTHEST = 0.002;
const KEPT_MOST = 5;
const WEIGHT_LEAST = 0.002;
/** Longer than so many ticks, and any period fits. */
const TICKS_MOST = 2000;

const normal = (x: number, sd: number): number => Math.exp(-0.5 * (x / sd) ** 2) / sd;

/** How common a clock error is, over the most common one's. */
function errorWeight(ppm: number): number {
  return (1 - RESONATOR_SHARE) * normal(ppm, CRYSTAL_PPM) + RESONATOR_SHARE * normal(ppm, RESONATOR_PPM);
}

/** What a measured period may mean, the likeliest first; empty where no schedule fits. */
export function schedulesOf(periodMs: number): Schedule[] {
  const found = new Map<number, number>();
  for (const [tickMs, commonness] of TICKS) {
    const ticks = Math.round(periodMs / tickMs);
    const off = periodMs / (ticks * tickMs) - 1;
    if (ticks < 1 || ticks > TICKS_MOST || Math.abs(off) > FURTHEST) continue;
    const nominalUs = Number((ticks * tickMs * 1000).toFixed(4));
    found.set(nominalUs, (found.get(nominalUs) ?? 0) + commonness * errorWeight(off * 1e6));
  }
  const total = [...found.values()].reduce((sum, weight) => sum + weight, 0);
  return [...found]
    .map(([nominalUs, weight]) => ({ nominalUs, weight: weight / total }))
    .filter(({ weight }) => weight >= WEIGHT_LEAST)
    .sort((a, b) => b.weight - a.weight)
    .slice(0, KEPT_MOST);
}
