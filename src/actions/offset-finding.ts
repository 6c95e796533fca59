/** What is said of the marks' clock: offset with error and rivals, quick presses that bear it out, drift, in figures and for a person. */
import { SHIFT_S } from './grid.ts';
import type { Peak } from './agreement.ts';
import type { RoughClock } from './clock.ts';
import type { FineOffset } from './reaction.ts';
import type { Drift, OffsetFinding, SyncTaps } from './types.ts';

const signed = (value: number, digits: number): string =>
  `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)} s`;

export const standsOut = (peak: Peak): boolean => peak.agreement > peak.chance;

/** Share of the peak's height over typical that the runner-up reaches. */
function rivalShare({ agreement, typical, runnerUp }: Peak): number {
  return runnerUp && agreement > typical ? Math.max(0, (runnerUp.agreement - typical) / (agreement - typical)) : 0;
}

/** Seconds by which the clocks part over the recording, with its error. */
function driftWords({ ppm, sePpm, overS }: Drift): string {
  const way = ppm > 0 ? 'fast' : 'slow';
  const partS = ((Math.abs(ppm) * overS) / 1e6).toFixed(2);
  return `the marks' clock runs ${way} by ${Math.abs(ppm).toFixed(0)} ± ${(1.96 * sePpm).toFixed(0)} millionths, ${partS} s over ${overS.toFixed(0)} s: the marks were straightened by it, and the offset is that of the middle`;
}

function foundWords(offsetS: number, seS: number, peak: Peak): string {
  const rival = rivalShare(peak);
  const height = `agreement ${peak.agreement.toFixed(0)} against ${peak.chance.toFixed(0)} that chance reaches once in a thousand`;
  const runnerUp =
    peak.runnerUp && rival > 0.5
      ? `; runner-up at ${signed(peak.runnerUp.shift * SHIFT_S, 1)} reaches ${Math.round(rival * 100)} % of it`
      : '';
  return `offset ${signed(offsetS, 2)} ± ${(1.96 * seS).toFixed(2)} s, your mean reaction included (${height}${runnerUp})`;
}

/** Sentences but for the first one's capital and the last one's full stop, which are for whoever shows them. */
const joined = (...parts: string[]): string =>
  parts
    .filter(Boolean)
    .map((part, index) => (index === 0 ? part : part.charAt(0).toUpperCase() + part.slice(1)))
    .join('. ');

function runnerUpOf(peak: Peak, addedS: number): Pick<OffsetFinding, 'runnerUp'> {
  const { runnerUp } = peak;
  return runnerUp ? { runnerUp: { offsetS: runnerUp.shift * SHIFT_S + addedS, share: rivalShare(peak) } } : {};
}

/** Offsets further apart than this many of their errors contradict each other. */
const CONTRADICT = 3;

interface Taken {
  /** Where the presses were made, drift and all. */
  readonly offsetS: number;
  readonly seS: number;
}

/** The offset as it is where the presses were made: that of the middle, and what the clock has drifted since. */
function takenAt({ atS }: SyncTaps, fine: Taken, drift: Drift | null): Taken {
  const sinceS = drift ? (atS[1] as number) + fine.offsetS - drift.middleS : 0;
  return { offsetS: fine.offsetS - (drift ? drift.ppm * 1e-6 * sinceS : 0), seS: fine.seS };
}

/** What three quick presses say, and whether the offset taken goes with it. */
function tapsWords({ action, edge, offsetS, seS, bus, id }: SyncTaps, addedS: number, taken: Taken | null): string {
  const says = `three quick "${action}" at the ${edge} are seen in ${bus} ${id} and say ${signed(offsetS + addedS, 2)} ± ${(1.96 * seS).toFixed(2)} s`;
  if (!taken) return says;
  const apart = Math.abs(offsetS - taken.offsetS) > CONTRADICT * Math.hypot(seS, taken.seS);
  return apart ? `${says}, which contradicts it: look at both before you trust either` : `${says}, which bears it out`;
}

const withTaps = (taps: readonly SyncTaps[], addedS: number): Pick<OffsetFinding, 'taps'> =>
  taps.length > 0 ? { taps: taps.map((each) => ({ ...each, offsetS: each.offsetS + addedS })) } : {};

export function foundOffset(
  rough: RoughClock,
  peak: Peak,
  fine: Pick<FineOffset, 'offsetS' | 'seS'>,
  drift: Drift | null,
  taps: readonly SyncTaps[],
): OffsetFinding {
  const offsetS = rough.addedS + fine.offsetS;
  return {
    offsetS,
    seS: fine.seS,
    from: 'found',
    curve: withAdded(peak, rough.addedS),
    chance: peak.chance,
    ...(drift ? { drift } : {}),
    ...runnerUpOf(peak, rough.addedS),
    ...withTaps(taps, rough.addedS),
    words: joined(
      foundWords(offsetS, fine.seS, peak),
      ...taps.map((each) => tapsWords(each, rough.addedS, takenAt(each, fine, drift))),
      drift ? driftWords(drift) : '',
      rough.words,
    ),
  };
}

/** By the presses alone, where the agreement of all marks does not stand out. @param taps one or more, of one offset */
export function tappedOffset(
  rough: RoughClock,
  peak: Peak,
  drift: Drift | null,
  taps: readonly SyncTaps[],
): OffsetFinding {
  const { offsetS, seS } = taps.toSorted((a, b) => a.seS - b.seS)[0] as SyncTaps;
  const words =
    `offset ${signed(offsetS + rough.addedS, 2)} ± ${(1.96 * seS).toFixed(2)} s by three quick presses alone, your reaction included: ` +
    `the only ones of this capture that fit (the agreement of all marks, ${peak.agreement.toFixed(0)}, does not reach ${peak.chance.toFixed(0)}, as chance does once in a thousand)`;
  return {
    offsetS: rough.addedS + offsetS,
    seS,
    from: 'found',
    curve: withAdded(peak, rough.addedS),
    chance: peak.chance,
    ...withTaps(taps, rough.addedS),
    ...(drift ? { drift } : {}),
    words: joined(
      words,
      ...taps.map((each) => tapsWords(each, rough.addedS, null)),
      drift ? driftWords(drift) : '',
      rough.words,
    ),
  };
}

function withAdded({ curve }: Peak, addedS: number): OffsetFinding['curve'] {
  return { offsetS: curve.offsetS.map((offsetS) => offsetS + addedS), agreement: curve.agreement };
}

export function lostOffset(rough: RoughClock, peak: Peak): OffsetFinding {
  const compared = Number.isFinite(peak.chance)
    ? ` (best agreement ${peak.agreement.toFixed(0)}, chance reaches ${peak.chance.toFixed(0)} once in a thousand)`
    : '';
  const words =
    `no offset stands out${compared}: ` +
    'the marks were taken as they are. More repetitions at irregular moments would settle it, or give the offset by hand';
  return {
    offsetS: rough.addedS,
    seS: null,
    from: 'not-found',
    curve: withAdded(peak, rough.addedS),
    chance: peak.chance,
    words: joined(words, rough.words),
  };
}

export function givenOffset(offsetS: number, drift: Drift | null): OffsetFinding {
  return {
    offsetS,
    seS: null,
    from: 'given',
    curve: null,
    chance: null,
    ...(drift ? { drift } : {}),
    words: joined(`offset ${signed(offsetS, 2)}, given by hand`, drift ? driftWords(drift) : ''),
  };
}

export const unneededOffset = (words: string): OffsetFinding => ({
  offsetS: 0,
  seS: null,
  from: 'not-needed',
  curve: null,
  chance: null,
  words,
});
