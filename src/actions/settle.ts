/**
 * The marks' clock against the capture's, settled before anything is claimed: the offset by agreement, or by quick presses where that does not stand out; then, from
 * when each mark was answered, the offset to hundredths of a second and the drift, by which the marks are straightened before they are asked again.
 */
import { part, type Control } from '../kit/control.ts';
import { addAgreement, findPeak, newAgreement, type Peak } from './agreement.ts';
import { CLAIM_Q, claimsOf } from './claims.ts';
import { searchRange, type RoughClock } from './clock.ts';
import { foundOffset, givenOffset, lostOffset, standsOut, tappedOffset } from './offset-finding.ts';
import { straightened, type TimedLag } from './drift.ts';
import { addEvidence, evidenceScratch, newEvidence, type ActionEvidence } from './evidence.ts';
import { scanScratch } from './field-view.ts';
import { SHIFT_S } from './grid.ts';
import { movedMark } from './marks.ts';
import { planActions } from './plan.ts';
import { fineOffset, type FineOffset } from './reaction.ts';
import { responses, type Judged } from './report.ts';
import { eachField, type Setting } from './setting.ts';
import { syncTaps } from './taps.ts';
import type { Drift, Mark, OffsetFinding, SyncTaps } from './types.ts';

async function searchOffset(setting: Setting, rough: RoughClock, control: Control): Promise<Peak> {
  const { plans, circle } = setting;
  const agreement = newAgreement(plans, circle);
  const scratch = scanScratch(circle);
  await eachField(setting, control, 'clock:', ({ view }) => addAgreement(agreement, plans, view, scratch));
  return findPeak(agreement, searchRange(rough.searchS, circle));
}

async function judge(setting: Setting, shift: number, control: Control): Promise<Judged[]> {
  const evidence: ActionEvidence[] = newEvidence(setting.plans, setting.circle);
  const scratch = evidenceScratch(scanScratch(setting.circle));
  await eachField(setting, control, 'responses of', ({ view }, index) =>
    addEvidence(evidence, index, view, shift, scratch),
  );
  const responseOf = responses(setting);
  return evidence.map((action) => ({ action, claims: claimsOf(action, responseOf) }));
}

const isSure = ({ claims }: Judged): boolean => claims.some(({ q }) => q <= CLAIM_Q);

const lagsOf = (taps: readonly SyncTaps[], offsetS: number): TimedLag[] =>
  taps.flatMap(({ action, edge, atS, lagS }) =>
    atS.map((each, k) => ({
      atS: each + offsetS,
      lagS: (lagS[k] as number) - offsetS,
      kind: `taps ${action}`,
      mark: `taps ${action} ${edge} ${k}`,
    })),
  );

/** Marks of a drifting clock as one that keeps step would have them. */
const straightMarks = (marks: readonly Mark[], drift: Drift, offsetS: number): Mark[] => {
  const moved = (atS: number): number => straightened(atS + offsetS, drift) - offsetS;
  return marks.map((mark) => movedMark(mark, moved));
};

export interface Settled {
  readonly clock: OffsetFinding;
  /** With the marks straightened where they drift. */
  readonly setting: Setting;
  readonly judged: readonly Judged[];
  /** Where the evidence was taken, in steps of SHIFT_S from the rough clock. */
  readonly shift: number;
}

interface Aligned {
  readonly setting: Setting;
  readonly judged: readonly Judged[];
  readonly shift: number;
  readonly fine: FineOffset | null;
}

async function align(setting: Setting, startS: number, taps: readonly TimedLag[], control: Control): Promise<Aligned> {
  const shift = Math.round(startS / SHIFT_S);
  const judged = await judge(setting, shift, control);
  const sure = judged.filter(isSure).map(({ action }) => action);
  return { setting, judged, shift, fine: fineOffset(sure, setting, shift * SHIFT_S, taps) };
}

const straightLags = (lags: readonly TimedLag[], { ppm, middleS }: Drift): TimedLag[] =>
  lags.map((lag) => ({ ...lag, lagS: lag.lagS + ppm * 1e-6 * (lag.atS - middleS) }));

interface Drifting extends Aligned {
  readonly drift: Drift | null;
}

/** Times the marks are straightened: far ones come into reach of their answers by and by. */
const ROUNDS = 2;

/** What is told of the clock where an offset to start from is known. */
async function settleNear(
  setting: Setting,
  rough: RoughClock,
  startS: number,
  taps: readonly SyncTaps[],
  middleS: number,
  control: Control,
): Promise<Drifting> {
  const share = (round: number): Control => part(control, round / (ROUNDS + 1), (round + 1) / (ROUNDS + 1));
  let aligned: Drifting = { ...(await align(setting, startS, lagsOf(taps, startS), share(0))), drift: null };
  for (let round = 1; round <= ROUNDS; round++) {
    const { fine, drift: known } = aligned;
    if (!fine?.slope || !(fine.slope.isTold || (known && Math.abs(fine.slope.ppm) > fine.slope.sePpm))) break;
    const { ppm, sePpm, overS } = fine.slope;
    const drift = { ppm: (known?.ppm ?? 0) + ppm, sePpm, overS, middleS };
    const marks = straightMarks(rough.marks, drift, fine.offsetS);
    const straight = { ...setting, plans: planActions(marks, setting.circle) };
    const lags = straightLags(lagsOf(taps, fine.offsetS), drift);
    aligned = { ...(await align(straight, fine.offsetS, lags, share(round))), drift };
  }
  return aligned;
}

/** The offset was given by hand: only drift is looked for. */
export async function settleGiven(
  setting: Setting,
  rough: RoughClock,
  offsetS: number,
  middleS: number,
  control: Control,
): Promise<Settled> {
  const { drift, fine: _, ...aligned } = await settleNear(setting, rough, offsetS - rough.addedS, [], middleS, control);
  return { ...aligned, clock: givenOffset(offsetS, drift) };
}

/** Offsets that quick presses and agreement may differ by, reactions and drift included. */
const ONE_OFFSET_S = 1;

/** Those of them that say one thing; none where they contradict each other. */
const agreeing = (taps: readonly SyncTaps[]): readonly SyncTaps[] =>
  taps.every(({ offsetS }) => Math.abs(offsetS - (taps[0] as SyncTaps).offsetS) <= ONE_OFFSET_S) ? taps : [];

const ROUGH_SE_S = 0.3;

/** Searches the offset, then settles it. @param middleS middle of the capture, at which the offset holds where clocks drift */
export async function settleClock(
  setting: Setting,
  rough: RoughClock,
  middleS: number,
  control: Control,
): Promise<Settled> {
  const peak = await searchOffset(setting, rough, part(control, 0, 0.4));
  const taps = agreeing(syncTaps(rough.marks, setting.candidates, rough.searchS, 2 * middleS));
  const [first] = taps;
  const rest = part(control, 0.4, 1);
  if (!standsOut(peak) && !first) {
    return { clock: lostOffset(rough, peak), setting, judged: await judge(setting, 0, rest), shift: 0 };
  }
  const startS = standsOut(peak) ? peak.shift * SHIFT_S : (first as SyncTaps).offsetS;
  const { drift, fine, ...aligned } = await settleNear(setting, rough, startS, taps, middleS, rest);
  if (!standsOut(peak)) return { ...aligned, clock: tappedOffset(rough, peak, drift, taps) };
  const told = fine ?? { offsetS: startS, seS: ROUGH_SE_S };
  return { ...aligned, clock: foundOffset(rough, peak, told, drift, taps) };
}
