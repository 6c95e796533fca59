/** Which lines a drift picture draws: all clocks against the middle one, or one identifier against a group, with the company it keeps. */
import {
  driftPicture,
  residualAgainst,
  type Clocks,
  type GroupOf,
  type Residual,
} from '../../timing/senders/drift-picture.ts';
import type { SenderMember } from '../../timing/senders/keep-letters.ts';
import type { SurveyClock } from '../../timing/types.ts';
import { createRandom } from '../../kit/random.ts';
import { medianSlopeLine } from '../../kit/statistics/line.ts';
import { duration, fixed, signed } from '../../kit/sheet-figures.ts';
import type { DriftCurve } from './drift-scene.ts';

const isSame = (a: SenderMember, b: SenderMember): boolean =>
  a.bus === b.bus && a.id === b.id && a.extended === b.extended;

/** What stamps are multiples of in effect: their resolution, a tick of the logger, or how far apart batches come. */
export const stampStepOf = ({ resolutionUs, tick, batches }: SurveyClock): number =>
  Math.max(resolutionUs, tick?.tickUs ?? 0, ...batches.map(({ distanceUs }) => distanceUs));

/** Coarser stamps than this can hide whole clocks. */
const COARSE_US = 1000;

/** What the stamps' step hides, for a person; null where they are fine enough. */
export function coarseWords(stepUs: number, lastsS: number): string | null {
  if (stepUs < COARSE_US) return null;
  const ppm = stepUs / Math.max(lastsS, 1e-3);
  return `Stamps step by ${lengthWords(stepUs)}: over this recording, clocks within ${fixed(ppm, ppm < 10 ? 1 : 0)} ppm of each other look like one. Lines that agree here prove nothing; lines that part do.`;
}

export interface Curves {
  readonly curves: readonly DriftCurve[];
  /** The group that is level. */
  readonly reference: string | null;
  /** Groups whose clock shows. */
  readonly fans: number;
  /** Windows left out, for what was read in them was no clock. */
  readonly left: number;
}

/** A window this far off its own line read a frame sent beside its ticks, or one that waited long: no clock. */
const OFF_US = 3000;

/** Windows far off the identifier's own straight line; a ramp against its group is none of these and stays. */
function withoutStrays(
  aheadUs: Float64Array,
  middlesS: Float64Array,
  offUs: number,
): { readonly valuesUs: Float64Array; readonly left: number } {
  const at = [...aheadUs.keys()].filter((window) => !Number.isNaN(aheadUs[window] as number));
  if (at.length < 3) return { valuesUs: aheadUs, left: 0 };
  const x = at.map((window) => middlesS[window] as number);
  const y = at.map((window) => aheadUs[window] as number);
  const { scale, offset } = medianSlopeLine(x, y, createRandom(1));
  const isOff = (us: number, window: number): boolean =>
    Math.abs(us - offset - scale * (middlesS[window] as number)) > offUs;
  return {
    valuesUs: aheadUs.map((us, window) => (isOff(us, window) ? NaN : us)),
    left: [...aheadUs].filter(isOff).length,
  };
}

/** Every identifier, one fan a group; the one that is held stands out. */
export function allCurves(clocks: Clocks, groupOf: GroupOf, held: SenderMember | null, stepUs: number): Curves {
  const { lines, fans, reference } = driftPicture(clocks, groupOf, null);
  const kept = lines.map((line) => withoutStrays(line.aheadUs, clocks.middlesS, Math.max(OFF_US, 2 * stepUs)));
  const left = kept.reduce((sum, one) => sum + one.left, 0);
  const curves = lines.map((line, place): DriftCurve => ({
    valuesUs: (kept[place] as (typeof kept)[number]).valuesUs,
    group: line.group,
    weight: held && isSame(line, held) ? 'held' : 'thin',
    tagged: false,
  }));
  const clocksOfGroups = fans.map(({ group, aheadUs }): DriftCurve => ({
    valuesUs: aheadUs,
    group,
    weight: 'fan',
    tagged: true,
  }));
  return { curves: [...curves, ...clocksOfGroups], reference, fans: fans.length, left };
}

const centred = (values: Float64Array): Float64Array => {
  const there = [...values].filter((value) => !Number.isNaN(value)).sort((a, b) => a - b);
  const middle = there[there.length >> 1] ?? 0;
  return values.map((value) => value - middle);
};

/** One identifier against a group's clock, itself left out of it; thin beside it that group's own, and its own group's. */
export function residualCurves(
  clocks: Clocks,
  groupOf: GroupOf,
  held: SenderMember,
  against: string,
  stepUs: number,
): { readonly curves: readonly DriftCurve[]; readonly residual: Residual | null } {
  const residual = residualAgainst(clocks, groupOf, held, against, stepUs);
  if (!residual) return { curves: [], residual };
  const { lines } = driftPicture(clocks, groupOf, against);
  const company = lines.filter(({ group }) => group !== null && (group === against || group === groupOf(held)));
  const curves = company
    .filter((line) => !isSame(line, held))
    .map(({ aheadUs, group }): DriftCurve => ({ valuesUs: centred(aheadUs), group, weight: 'thin', tagged: false }));
  return {
    curves: [...curves, { valuesUs: residual.strayUs, group: groupOf(held), weight: 'held', tagged: false }],
    residual,
  };
}

/** For one without a sender: the group whose clock runs most like its own. */
export function nearestGroup(
  clocks: Clocks,
  groupOf: GroupOf,
  one: SenderMember,
  letters: readonly string[],
): string | null {
  const rated = letters.map((group) => {
    const ppm = residualAgainst(clocks, groupOf, one, group, 0)?.drift?.ppm;
    return { group, away: ppm === undefined ? Infinity : Math.abs(ppm) };
  });
  return rated.sort((a, b) => a.away - b.away)[0]?.group ?? null;
}

const lengthWords = (us: number): string =>
  us >= 1000 ? `${fixed(us / 1000, us >= 10_000 ? 0 : 1)} ms` : `${fixed(us, 0)} us`;

/** What the picture shows, with its uncertainty, for a person. */
export function residualWords(residual: Residual, shownId: string, against: string, isOwn: boolean): string {
  const whom = isOwn ? `the rest of ${against}` : against;
  const { drift, scatterUs, spanS, windows, verdict } = residual;
  if (!drift)
    return `${shownId} and ${whom} were heard together in ${windows} windows only: too few to hold their clocks against each other.`;
  const rate = `${signed(drift.ppm, 2)} ± ${fixed(2 * drift.se, 2)} ppm`;
  if (verdict === 'one clock')
    return `Bounded: it keeps within ± ${lengthWords(Math.max(1, 2 * scatterUs))} of ${whom} for ${duration(spanS)}, drift ${rate}. One clock.`;
  if (verdict === 'two clocks')
    return `A ramp: ${rate} against ${whom}, ${lengthWords(Math.abs(drift.ppm) * spanS)} within ${duration(spanS)}. Two clocks.`;
  return `Cannot be told: ${rate} against ${whom}, and readings that scatter by ± ${lengthWords(2 * scatterUs)}.`;
}
