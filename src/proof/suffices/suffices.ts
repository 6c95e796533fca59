/** Whether a recording suffices before the part is cut out: all needs judged, what to record next, what to take along. */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { actionNeeds } from './action-needs.ts';
import { beyondDonor } from './beyond.ts';
import { guardNeeds } from './guard-needs.ts';
import { lossNeed } from './loss-needs.ts';
import { nextRecordings } from './next.ts';
import { rangesAfter } from './range-after.ts';
import { rangeNeeds } from './range-needs.ts';
import { spanNeeds } from './span-needs.ts';
import { takeAlong } from './take-along.ts';
import type { Need, Sufficiency, SufficesInput, Verdict } from './types.ts';

const ORDER: Readonly<Record<Verdict, number>> = { short: 0, 'cannot-tell': 1, enough: 2 };

/** Marks lie this far off at most. */
const AT_EDGE_S = 1;

function saysOf(needs: readonly Need[], recordings: number): string {
  const countOf = (verdict: Verdict): number => needs.filter((need) => need.verdict === verdict).length;
  const [short, untold] = [countOf('short'), countOf('cannot-tell')];
  const more = recordings === 1 ? '1 more recording is' : `${recordings} more recordings are`;
  if (short === 0 && recordings === 0)
    return `The recording suffices as far as it can tell (${countOf('enough')} needs met, ${untold} not to be told).`;
  return `Do not cut yet: ${short} ${short === 1 ? 'need is' : 'needs are'} short, ${untold} cannot be told; ${more} proposed.`;
}

/** Deterministic. Cost: seconds at most; a read of the fields that answer actions directly. */
export function whatSuffices(input: SufficesInput): Sufficiency {
  const { table, survey, findings, links, donor = 'drive' } = input;
  const endS = table.endUs / MICROS_PER_SECOND;
  // What was done before the recording or behind its end, as where it still grows, is not in it.
  const marks = input.marks.filter(({ startS }) => startS >= -AT_EDGE_S && startS <= endS + AT_EDGE_S);
  const needs = [
    ...spanNeeds(survey.modes, marks, endS, donor, survey.frames),
    ...actionNeeds(marks, links),
    ...(findings && links ? rangeNeeds(table, findings, marks, links) : []),
    ...(findings && links && donor === 'drive' ? rangesAfter(table, findings, marks, links) : []),
    ...guardNeeds(findings ?? [], survey),
    lossNeed(survey),
  ].sort((a, b) => ORDER[a.verdict] - ORDER[b.verdict]);
  const next = nextRecordings(needs, marks, donor, survey.frames);
  return {
    needs,
    next,
    take: takeAlong(findings, survey),
    beyond: beyondDonor(donor, survey.modes),
    says: saysOf(needs, next.length),
  };
}
