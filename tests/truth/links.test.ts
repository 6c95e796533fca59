/**
 * Scorecard of links over simulated vehicles: is what the driver touched put first, is the operator's clock found, is nothing
 * claimed for marks at random times? Fields are placed as the true map has them. Floors are what a regression
 * must not fall below; the aims are printed beside what was reached.
 */
import { describe, expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import type { ActionLinks, Mark } from '../../src/actions/types.ts';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { respondersOf } from '../../src/demo/responders.ts';
import type { ActionName } from '../../src/demo/script.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeCase, quantityAt, sentQuantities, type EvidenceCase } from './support/evidence-case.ts';

const VEHICLES: readonly (readonly [ProfileName, number])[] = [
  ['plain', 7001],
  ['guarded', 7002],
  ['paged', 7003],
  ['extended', 7004],
];
const DURATION_S = 170;
const MARKS_LEAST = 5;
const IDLE_ACTIONS = 6;

interface Score {
  directFirst: number;
  directInThree: number;
  actions: number;
  offsetErrors: number[];
  idleClaims: number;
  idleActions: number;
}

const markOf = ({ action, startS, endS, value }: EvidenceCase['marks'][number]): Mark => ({
  action,
  startS,
  endS,
  ...(value ? { value } : {}),
});

/** Random marks that nothing answers, on the same clock as the others. */
function idleMarks({ marks }: EvidenceCase, seed: number): Mark[] {
  const random = createRandom(seed).fork('idle');
  const firstS = Math.min(...marks.map(({ startS }) => startS));
  return Array.from({ length: IDLE_ACTIONS }, (_, action) =>
    Array.from({ length: 5 + random.below(8) }, (): Mark => {
      const startS = firstS + random.between(0, DURATION_S - 20);
      return { action: `idle ${action}`, startS, endS: action % 2 === 0 ? null : startS + random.between(0.5, 3) };
    }),
  ).flat();
}

/** Fields that answer for sure, each once, in the order reported. */
function sureFields({ links }: ActionLinks): ActionLinks['links'] {
  const sure = links.filter(({ q }) => q <= 0.05);
  const key = (link: ActionLinks['links'][number]): string => `${link.bus} ${link.id} ${link.extended} ${link.field}`;
  return sure.filter((link, i) => sure.findIndex((other) => key(other) === key(link)) === i);
}

function scoreAction(score: Score, { vehicle }: EvidenceCase, action: ActionLinks): void {
  const { direct } = respondersOf(action.action as ActionName);
  const sent = sentQuantities(vehicle);
  if (action.marks < MARKS_LEAST || !direct.some((quantity) => sent.has(quantity))) return;
  const isDirect = sureFields(action).map((link) => {
    const quantity = quantityAt(vehicle, link);
    return quantity !== null && direct.includes(quantity);
  });
  score.actions++;
  if (isDirect[0]) score.directFirst++;
  if (isDirect.slice(0, 3).includes(true)) score.directInThree++;
}

async function scoreVehicle(score: Score, profile: ProfileName, seed: number): Promise<void> {
  const one = makeCase(profile, seed, DURATION_S);
  const marks = [...one.marks.map(markOf), ...idleMarks(one, seed)];
  const { table, findings } = one;
  const report = await linkFields({ table, findings, marks: { marks, timeBase: 'epoch' }, offset: 'auto', seed }, {});
  score.offsetErrors.push(report.clockOffsetS - one.trueOffsetS);
  for (const action of report.actions) {
    if (!action.action.startsWith('idle')) scoreAction(score, one, action);
    else {
      score.idleActions++;
      score.idleClaims += action.links.filter(({ q }) => q <= 0.05).length;
    }
  }
}

describe(`links on ${VEHICLES.length} simulated vehicles (${VEHICLES.map((vehicle) => vehicle.join(' ')).join(', ')})`, () => {
  it('put the direct responder first, find the clock and leave idle marks alone', { timeout: 400_000 }, async () => {
    const score: Score = {
      directFirst: 0,
      directInThree: 0,
      actions: 0,
      offsetErrors: [],
      idleClaims: 0,
      idleActions: 0,
    };
    for (const [profile, seed] of VEHICLES) await scoreVehicle(score, profile, seed);
    const { actions, directFirst, directInThree, offsetErrors, idleClaims, idleActions } = score;
    const near = offsetErrors.filter((error) => Math.abs(error) <= 0.1).length;
    console.log(
      `links: direct first ${directFirst}/${actions} (aim 0.95), in three ${directInThree}/${actions} (aim 0.99); ` +
        `offset within 0.1 s ${near}/${offsetErrors.length} (aim 0.98), errors ${offsetErrors.map((error) => error.toFixed(3)).join(' ')} s; ` +
        `false claims ${idleClaims} over ${idleActions} idle actions (aim 0.05 an action)`,
    );
    expect(actions).toBeGreaterThanOrEqual(3 * VEHICLES.length);
    expect(directFirst / actions).toBeGreaterThanOrEqual(0.95);
    expect(directInThree / actions).toBeGreaterThanOrEqual(0.95);
    expect(near).toBe(offsetErrors.length);
    expect(idleClaims / idleActions).toBeLessThanOrEqual(0.1);
  });
});
