/**
 * Physical laws between the fields of one capture, without units: which combinations hold, with what they leave open. What is claimed is bounded by
 * the false discovery rate over all combinations tried (Benjamini and Hochberg 1995).
 */
import { checkpoint, type Control } from '../../kit/control.ts';
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import { fieldKey } from '../../map/proposed-fields.ts';
import type { Asked } from '../roles/find.ts';
import type { Prepared } from '../roles/prepared.ts';
import type { RoleReport } from '../roles/types.ts';
import { cellSums } from './cells.ts';
import { courseOn, gridOf } from './grid.ts';
import { chargeSums, powerBalances } from './power.ts';
import { alikeSpeeds, constantRatios, type OnGrid } from './speeds.ts';
import type { Trial } from './trial.ts';
import type { CrossCheck, CrossCheckReport } from './types.ts';
import { whyOf } from './words.ts';

const CLAIM_Q = 0.05;
/** Of combinations that end in one field the one that leaves least open is told, and so many of a law. */
const TOLD_MOST = 8;
const FACTORS_MOST = 8;

export interface ChecksInput extends Asked {
  readonly lengthUs: number;
  /** Torques are looked for among what commands and what answers. */
  readonly roles: RoleReport;
}

/** Slow ones too: cells on pages and levels come seldom. */
const isLevel = ({ candidate, field }: Prepared): boolean =>
  candidate.field.kind === 'number' && field.changes.length >= 4 && field.distinct >= 4;

export async function crossCheck(
  { fields, gatherings, lengthUs, roles }: ChecksInput,
  control: Control,
): Promise<CrossCheckReport> {
  const grid = gridOf(lengthUs);
  const laid = fields.filter(isLevel).map((field): OnGrid => ({ field, course: courseOn(field, grid) }));
  await checkpoint(control, 0.2, 'physical laws between fields');
  const speeds = laid.filter(({ field }) => gatherings.of(field) !== null);
  const tied = new Set(
    roles.follows
      .filter(({ way }) => way === 'answer')
      .flatMap(({ leader, follower }) => [fieldKey(leader), fieldKey(follower)]),
  );
  const torques = laid.filter(
    ({ field }) => tied.has(fieldKey(field.place)) && !speeds.some((one) => one.field === field),
  );
  await checkpoint(control, 0.4, 'speeds and powers');
  const power = powerBalances(torques.slice(0, FACTORS_MOST), speeds.slice(0, FACTORS_MOST), laid);
  const currents = [
    ...new Map(
      power
        .filter(({ holds }) => holds)
        .sort((a, b) => a.residual - b.residual)
        .flatMap(({ members }) => members.slice(-1))
        .map(({ place }) => [fieldKey(place), laid.find(({ field }) => fieldKey(field.place) === fieldKey(place))]),
    ).values(),
  ].flatMap((one) => (one ? [one] : []));
  await checkpoint(control, 0.7, 'charge and cells');
  const trials: Trial[] = [
    ...alikeSpeeds(speeds),
    ...constantRatios(speeds),
    ...power,
    ...chargeSums(laid, currents.slice(0, 4)),
    ...cellSums(laid),
  ];
  await checkpoint(control, 1, 'physical laws held against each other');
  return { checks: claimed(trials), tried: trials.length };
}

/** Each law is a family of its own: thousands of powers that were tried say nothing of a charge. */
export function claimed(trials: readonly Trial[]): CrossCheck[] {
  const laws = [...new Set(trials.map(({ check }) => check))];
  return laws.flatMap((law) => claimedOf(trials.filter(({ check }) => check === law)));
}

function claimedOf(trials: readonly Trial[]): CrossCheck[] {
  const q = benjaminiHochberg(trials.map(({ p }) => p));
  const told = trials
    .map((trial, k) => ({ trial, q: q[k] as number }))
    .filter((each) => each.trial.holds && each.q <= CLAIM_Q)
    .sort((a, b) => a.trial.residual - b.trial.residual);
  const said = new Set<string>();
  const news = told.filter(({ trial }) => {
    const last = trial.members.at(-1);
    const key = last ? fieldKey(last.place) : '';
    return !said.has(key) && said.add(key);
  });
  return news.slice(0, TOLD_MOST).map(({ trial, q: own }) => {
    const { holds: _holds, ...law } = trial;
    return { ...law, q: own, why: whyOf(law, own) };
  });
}
