/** Claims of all actions as links: the sure ones in full, and as many of the others as were asked for in short. */
import { checkpoint, type Control } from '../kit/control.ts';
import { createRandom } from '../kit/random.ts';
import { fieldKey, type Candidate } from '../map/proposed-fields.ts';
import { CLAIM_Q, type Claim } from './claims.ts';
import type { ActionEvidence, Evidence } from './evidence.ts';
import { shiftCount } from './grid.ts';
import type { Laid } from './laid-fields.ts';
import { linkOf, plainLink, type LinkContext, type Standpoint } from './links.ts';
import { powerOf } from './power.ts';
import { rankClaims } from './ranking.ts';
import { cameAlone, isTold, togetherByAction, togetherWords } from './separation.ts';
import type { Setting } from './setting.ts';
import type { ActionLinks, Link, Together } from './types.ts';
import { actionWords, ratherWords } from './words.ts';

/** Responses at every tenth of a second, for telling which claims say the same thing. */
export function responses({ candidates, circle, laid }: Setting): (evidence: Evidence) => Float64Array {
  const known = new Map<number, Float64Array>();
  return ({ candidate, question }) => {
    const made = known.get(candidate);
    if (made) return made;
    const kernel = { kind: 'change' as const, points: question.trains[0]?.events[0]?.kernel.points ?? 10 };
    const all =
      laid.of(candidates[candidate] as Candidate)?.view.response(kernel) ?? new Float64Array(shiftCount(circle));
    const thinned = all.filter((_, k) => k % 2 === 0);
    known.set(candidate, thinned);
    return thinned;
  };
}

export interface Judged {
  readonly action: ActionEvidence;
  readonly claims: readonly Claim[];
}

function linksOf(setting: Setting, judged: Judged, standpoint: Standpoint, seed: number): Link[] {
  const random = createRandom(seed).fork(judged.action.plan.action);
  const known = new Map<number, Omit<LinkContext, 'plan' | 'standpoint' | 'random'>>();
  const contextOf = (index: number): LinkContext => {
    const candidate = setting.candidates[index] as Candidate;
    const own = known.get(index) ?? {
      candidate,
      series: setting.laid.series(candidate),
      ...(setting.laid.of(candidate) as Laid),
    };
    known.set(index, own);
    return { ...own, plan: judged.action.plan, standpoint, random };
  };
  const sure = judged.claims.filter(({ q }) => q <= CLAIM_Q);
  const links = sure.map((claim) => linkOf(claim, contextOf(claim.evidence.candidate)));
  return rankClaims(links);
}

/** Tests that claim nothing, in order of p: in short, without looking at their repetitions one by one. */
function unsureLinks(setting: Setting, judged: Judged, standpoint: Standpoint, seed: number, most: number): Link[] {
  const random = createRandom(seed).fork('unsure');
  return judged.claims
    .filter(({ q }) => q > CLAIM_Q)
    .slice(0, most)
    .map((claim) => {
      const candidate = setting.candidates[claim.evidence.candidate] as Candidate;
      const laid = setting.laid.of(candidate) as Laid;
      const series = { timeUs: new Float64Array(0), value: new Float64Array(0), isPace: false };
      return plainLink(claim, { candidate, series, ...laid, plan: judged.action.plan, standpoint, random });
    });
}

/** Of the marks of an action that came without another one, so many answered in time make the answer its own. */
const ALONE_ANSWERED = 0.5;

/** By field, the most marks of an action that it answers for sure and in time. */
function inTimeByField({ links }: ActionLinks): Map<string, number> {
  const most = new Map<string, number>();
  for (const link of links.filter(({ q }) => q <= CLAIM_Q))
    most.set(fieldKey(link), Math.max(most.get(fieldKey(link)) ?? 0, link.inTime ?? 0));
  return most;
}

/** Links whose field answers an action that was done along with theirs, where that came alone as well. */
function withRather(actions: readonly ActionLinks[]): ActionLinks[] {
  const inTime = new Map(actions.map((each) => [each.action, inTimeByField(each)]));
  const marksOf = new Map(actions.map(({ action, marks }) => [action, marks]));
  return actions.map((each) => {
    const told = (each.together ?? []).filter(isTold);
    const own = inTimeByField(each);
    const isOwn = (link: Link, together: Together): boolean =>
      cameAlone(together) &&
      (own.get(fieldKey(link)) ?? 0) >= together.of - (1 - ALONE_ANSWERED) * (together.of - together.times);
    const isRather = (link: Link, together: Together): boolean => {
      const { action, alone } = together;
      const answered = inTime.get(action)?.get(fieldKey(link)) ?? 0;
      return !isOwn(link, together) && answered >= (marksOf.get(action) ?? 0) - (1 - ALONE_ANSWERED) * alone;
    };
    const links = each.links.map((link) => {
      const rather = [...new Set(told.filter((one) => isRather(link, one)).map(({ action }) => action))];
      return rather.length > 0 ? { ...link, rather } : link;
    });
    const doubtful = links.filter(({ q, rather }) => q <= CLAIM_Q && rather).length;
    const words = doubtful > 0 ? ratherWords(doubtful, [...new Set(links.flatMap(({ rather }) => rather ?? []))]) : '';
    return { ...each, links, words: [each.words, words].filter(Boolean).join('. ') };
  });
}

export async function reportActions(
  setting: Setting,
  judged: readonly Judged[],
  standpoint: Standpoint,
  seed: number,
  unsureShown: number,
  control: Control,
): Promise<ActionLinks[]> {
  const actions: ActionLinks[] = [];
  const byAction = togetherByAction(judged.flatMap(({ action }) => action.plan.marks));
  for (const [index, one] of judged.entries()) {
    const { plan } = one.action;
    await checkpoint(control, index / judged.length, `links of ${plan.action}`);
    const sure = linksOf(setting, one, standpoint, seed);
    const together = byAction.get(plan.action) ?? [];
    const power = sure.length > 0 ? null : powerOf(one.action, standpoint.shift, setting.circle);
    actions.push({
      action: plan.action,
      marks: plan.marks.length,
      links: [...sure, ...unsureLinks(setting, one, standpoint, seed, unsureShown)],
      tested: one.claims.length,
      words: [
        actionWords(plan, sure, one.claims.length, power),
        ...together.filter((each) => !isTold(each)).map(togetherWords),
      ]
        .filter(Boolean)
        .join('. '),
      ...(power ? { power } : {}),
      ...(together.length > 0 ? { together } : {}),
    });
  }
  return withRather(actions);
}
