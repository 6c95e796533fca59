/**
 * Ties fields to actions. The marks' clock offset is found from the data (or given), then every field is asked, for
 * every action, whether it steps at the marks' start or end or differs while they last. p-values come from circular
 * shifts of the marks over the capture, which keep the field's autocorrelation and the marks' spacing;
 * shifts near zero are left out. Where the offset was searched for, the search is part of the test: nothing is
 * taken as found unless it beats what chance reaches in a whole search, once in a thousand.
 */
import type { FrameTable } from '../frames/table.ts';
import { part, type Control } from '../kit/control.ts';
import { addAgreement, findPeak, newAgreement, type Peak } from './agreement.ts';
import { candidatesOf, type ProposedFrame } from '../map/proposed-fields.ts';
import { CLAIM_Q, claimsOf } from './claims.ts';
import {
  circleFor,
  foundOffset,
  givenOffset,
  lostOffset,
  roughClock,
  searchRange,
  standsOut,
  unneededOffset,
  type RoughClock,
} from './clock.ts';
import { addEvidence, evidenceScratch, newEvidence, type ActionEvidence } from './evidence.ts';
import { scanScratch } from './field-view.ts';
import { SHIFT_S } from './grid.ts';
import { planActions } from './plan.ts';
import { fineOffset } from './reaction.ts';
import { reportActions, responses, type Judged } from './report.ts';
import { eachField, type Setting } from './setting.ts';
import type { LinkReport, MarkFile, OffsetFinding } from './types.ts';

export interface LinkInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly marks: MarkFile;
  /** Capture time = mark time + offset. */
  readonly offset: 'auto' | number;
  readonly seed: number;
  /** Tests above q = 0.05 that are reported with each action, most promising first; 25 by default. */
  readonly unsureShown?: number;
}

const UNSURE_SHOWN = 25;

async function searchOffset(setting: Setting, rough: RoughClock, control: Control): Promise<Peak> {
  const { plans, circle } = setting;
  const agreement = newAgreement(plans, circle);
  const scratch = scanScratch(circle);
  await eachField(setting, control, 'clock:', ({ view }) => addAgreement(agreement, plans, view, scratch));
  return findPeak(agreement, searchRange(rough.searchS, circle));
}

async function gatherEvidence(setting: Setting, shift: number, control: Control): Promise<ActionEvidence[]> {
  const evidence = newEvidence(setting.plans, setting.circle);
  const scratch = evidenceScratch(scanScratch(setting.circle));
  await eachField(setting, control, 'responses of', ({ view }, index) =>
    addEvidence(evidence, index, view, shift, scratch),
  );
  return evidence;
}

const isSure = ({ claims }: Judged): boolean => claims.some(({ q }) => q <= CLAIM_Q);

function settleOffset(setting: Setting, judged: readonly Judged[], rough: RoughClock, peak: Peak): OffsetFinding {
  if (!standsOut(peak)) return lostOffset(rough, peak);
  const sure = judged.filter(isSure).map(({ action }) => action);
  const fine = fineOffset(sure, setting.candidates, peak.shift * SHIFT_S);
  return foundOffset(rough, peak, fine ?? { offsetS: peak.shift * SHIFT_S, seS: 0.3, drift: null });
}

const nothingToDo = (words: string): LinkReport => ({ clockOffsetS: 0, clock: unneededOffset(words), actions: [] });

/** Which fields answer which action. Deterministic for one seed. */
export async function linkFields(input: LinkInput, control: Control): Promise<LinkReport> {
  const { table, offset, seed } = input;
  const durationS = table.endUs / 1e6;
  if (input.marks.marks.length === 0) return nothingToDo('there are no marks');
  if (table.origin.kind === 'none')
    return nothingToDo('the capture has no time stamps, so nothing can be set against the marks');
  const rough = roughClock(input.marks, table.origin, durationS);
  const searchS = offset === 'auto' ? rough.searchS : ([offset - rough.addedS, offset - rough.addedS] as const);
  const circle = circleFor(rough.marks, durationS, searchS);
  if (circle.points < 20) return nothingToDo('the capture is shorter than a second');
  const setting: Setting = {
    candidates: candidatesOf(table, input.findings),
    circle,
    plans: planActions(rough.marks, circle),
  };
  const peak = offset === 'auto' ? await searchOffset(setting, rough, part(control, 0, 0.4)) : null;
  const startS = offset === 'auto' ? (peak && standsOut(peak) ? peak.shift * SHIFT_S : 0) : offset - rough.addedS;
  const shift = Math.round(startS / SHIFT_S);
  const evidence = await gatherEvidence(setting, shift, part(control, 0.4, 0.9));
  const responseOf = responses(setting);
  const judged = evidence.map((action) => ({ action, claims: claimsOf(action, responseOf) }));
  const clock = peak ? settleOffset(setting, judged, rough, peak) : givenOffset(offset as number);
  const standpoint = { shift, offsetS: clock.offsetS - rough.addedS };
  const actions = await reportActions(
    setting,
    judged,
    standpoint,
    seed,
    input.unsureShown ?? UNSURE_SHOWN,
    part(control, 0.9, 1),
  );
  return { clockOffsetS: clock.offsetS, clock, actions };
}
