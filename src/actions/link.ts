/**
 * Ties fields to actions. The marks' clock offset is found from the data (or given), then every field is asked, for
 * every action, whether it steps at the marks' start or end or differs while they last. p-values come from circular
 * shifts of the marks over the capture, which keep the field's autocorrelation and the marks' spacing;
 * shifts near zero are left out. Where the offset was searched for, the search is part of the test: nothing is
 * taken as found unless it beats what chance reaches in a whole search, once in a thousand.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, part, type Control } from '../kit/control.ts';
import { createRandom } from '../kit/random.ts';
import { addAgreement, findPeak, newAgreement, type Peak } from './agreement.ts';
import { candidatesOf, seriesOf, type Candidate, type ProposedFrame } from '../map/proposed-fields.ts';
import { CLAIM_Q, claimsOf, type Claim } from './claims.ts';
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
import { addEvidence, evidenceScratch, newEvidence, type ActionEvidence, type Evidence } from './evidence.ts';
import { scanScratch, viewField, type FieldView } from './field-view.ts';
import { layOnGrid, SHIFT_S, shiftCount, type Circle, type GriddedField } from './grid.ts';
import { linkOf, plainLink, type LinkContext, type Standpoint } from './links.ts';
import { planActions, type ActionPlan } from './plan.ts';
import { rankClaims } from './ranking.ts';
import { fineOffset } from './reaction.ts';
import type { ActionLinks, Link, LinkReport, MarkFile, OffsetFinding } from './types.ts';
import { actionWords } from './words.ts';

export interface LinkInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  readonly marks: MarkFile;
  /** Capture time = mark time + offset. */
  readonly offset: 'auto' | number;
  readonly seed: number;
}

/** Everything a scan needs, decided before any field is looked at. */
interface Setting {
  readonly candidates: readonly Candidate[];
  readonly circle: Circle;
  readonly plans: readonly ActionPlan[];
}

interface Laid {
  readonly field: GriddedField;
  readonly view: FieldView;
}

/** A field on the grid with its responses; null where it never moves. */
function lay(candidate: Candidate, circle: Circle): Laid | null {
  const field = layOnGrid(seriesOf(candidate), circle);
  return field.greatest > field.least ? { field, view: viewField(field, circle) } : null;
}

async function eachField(
  { candidates, circle }: Setting,
  control: Control,
  note: string,
  use: (laid: Laid, index: number) => void,
): Promise<void> {
  for (const [index, candidate] of candidates.entries()) {
    await checkpoint(control, index / candidates.length, `${note} ${candidate.frame.id} ${candidate.field.name}`);
    const laid = lay(candidate, circle);
    if (laid) use(laid, index);
  }
}

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

/** Responses at every tenth of a second, for telling which claims say the same thing. */
function responses({ candidates, circle }: Setting): (evidence: Evidence) => Float64Array {
  const known = new Map<number, Float64Array>();
  return ({ candidate, question }) => {
    const made = known.get(candidate);
    if (made) return made;
    const kernel = { kind: 'change' as const, points: question.trains[0]?.events[0]?.kernel.points ?? 10 };
    const all =
      lay(candidates[candidate] as Candidate, circle)?.view.answer(kernel).response ??
      new Float64Array(shiftCount(circle));
    const thinned = all.filter((_, k) => k % 2 === 0);
    known.set(candidate, thinned);
    return thinned;
  };
}

interface Judged {
  readonly action: ActionEvidence;
  readonly claims: readonly Claim[];
}

const isSure = ({ claims }: Judged): boolean => claims.some(({ q }) => q <= CLAIM_Q);

function settleOffset(setting: Setting, judged: readonly Judged[], rough: RoughClock, peak: Peak): OffsetFinding {
  if (!standsOut(peak)) return lostOffset(rough, peak);
  const sure = judged.filter(isSure).map(({ action }) => action);
  const fine = fineOffset(sure, setting.candidates, peak.shift * SHIFT_S);
  return foundOffset(rough, peak, fine ?? { offsetS: peak.shift * SHIFT_S, seS: 0.3 });
}

function linksOf(setting: Setting, judged: Judged, standpoint: Standpoint, seed: number): Link[] {
  const random = createRandom(seed).fork(judged.action.plan.action);
  const known = new Map<number, Omit<LinkContext, 'plan' | 'standpoint' | 'random'>>();
  const contextOf = (index: number): LinkContext => {
    const candidate = setting.candidates[index] as Candidate;
    const own = known.get(index) ?? {
      candidate,
      series: seriesOf(candidate),
      ...(lay(candidate, setting.circle) as Laid),
    };
    known.set(index, own);
    return { ...own, plan: judged.action.plan, standpoint, random };
  };
  const sure = judged.claims.filter(({ q }) => q <= CLAIM_Q);
  const links = sure.map((claim) => linkOf(claim, contextOf(claim.evidence.candidate)));
  return rankClaims(links);
}

/** Tests that claim nothing, in order of p; made only while a caller may want to see them. */
function unsureLinks(setting: Setting, judged: Judged, standpoint: Standpoint, seed: number, most: number): Link[] {
  const random = createRandom(seed).fork('unsure');
  return judged.claims
    .filter(({ q }) => q > CLAIM_Q)
    .slice(0, most)
    .map((claim) => {
      const candidate = setting.candidates[claim.evidence.candidate] as Candidate;
      const laid = lay(candidate, setting.circle) as Laid;
      const series = { timeUs: new Float64Array(0), value: new Float64Array(0) };
      return plainLink(claim, { candidate, series, ...laid, plan: judged.action.plan, standpoint, random });
    });
}

/** Tests below the line that are reported with each action, most promising first. */
const UNSURE_SHOWN = 40;

async function reportActions(
  setting: Setting,
  judged: readonly Judged[],
  standpoint: Standpoint,
  seed: number,
  control: Control,
): Promise<ActionLinks[]> {
  const actions: ActionLinks[] = [];
  for (const [index, one] of judged.entries()) {
    const { plan } = one.action;
    await checkpoint(control, index / judged.length, `links of ${plan.action}`);
    const sure = linksOf(setting, one, standpoint, seed);
    actions.push({
      action: plan.action,
      marks: plan.marks.length,
      links: [...sure, ...unsureLinks(setting, one, standpoint, seed, UNSURE_SHOWN)],
      tested: one.claims.length,
      words: actionWords(plan, sure, one.claims.length),
    });
  }
  return actions;
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
  const actions = await reportActions(setting, judged, standpoint, seed, part(control, 0.9, 1));
  return { clockOffsetS: clock.offsetS, clock, actions };
}
