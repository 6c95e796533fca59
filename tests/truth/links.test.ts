/**
 * Scorecard of links over vehicles of two simulators: is what was touched put first, is the operator's clock found, is nothing
 * claimed for marks that nothing answers? `npm run scorecard` lays captures of other vehicles beside each, so that over a thousand fields are asked.
 * Floors are what a regression must not fall below; the aims are printed beside what was reached.
 */
import { describe, expect, it } from 'vitest';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { crowded, demoCase, evidenceCase, type LinksCase } from './links-cases.ts';
import { scoreLinks, type LinksScore } from './links-scorecard.ts';
import type { EvidenceWish } from './evidence/make-evidence.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const PROFILES: readonly ProfileName[] = asked ? ['plain', 'guarded', 'paged', 'extended', 'fd', 'plain'] : ['plain'];
/** As it is drawn, and ones unlike the others: 29-bit identifiers, a long recording, a short one. */
const WISHES: readonly EvidenceWish[] = asked
  ? [
      {},
      {},
      {},
      {},
      { marksClock: 'hours' },
      { marksClock: 'drifting' },
      { extended: true },
      { seconds: 320 },
      { seconds: 120 },
    ]
  : [{}, { marksClock: 'hours' }];
const demo = seedsFor('links demo', PROFILES.length);
const evidence = seedsFor('links evidence', WISHES.length);
const beside = seedsFor('links beside', asked ? 8 : 0);

function cases(): (() => LinksCase)[] {
  const others = beside.seeds.map((seed, at) =>
    at % 2 === 0 ? evidenceCase(seed) : demoCase('plain', seed, 'seconds'),
  );
  const all = [
    ...demo.seeds.map(
      (seed, at) => () => demoCase(PROFILES[at] as ProfileName, seed, at % 3 === 1 ? 'hours' : 'seconds'),
    ),
    ...evidence.seeds.map((seed, at) => () => evidenceCase(seed, WISHES[at])),
  ];
  return all.map((make) => () => crowded(make(), others));
}

const sum = (scores: readonly LinksScore[], of: (score: LinksScore) => number): number =>
  scores.reduce((total, score) => total + of(score), 0);

describe(`links on ${PROFILES.length} vehicles of the demo's simulator and ${WISHES.length} of the evidence simulator, seeds from ${demo.base}`, () => {
  it('put what was touched first, find the clock and leave idle marks alone', { timeout: 3_600_000 }, async () => {
    const scores: LinksScore[] = [];
    for (const make of cases()) {
      const score = await scoreLinks(make());
      scores.push(score);
      if (process.env['LOOMSCRIBE_SHOW_WRONG'])
        console.log(
          [`${score.name}, clock ${score.clock.errorS.toFixed(3)} s off, ${score.fields} fields`, ...score.wrong].join(
            '\n  ',
          ),
        );
    }
    const ranks = (sort: 'alone' | 'paired') => ({
      actions: sum(scores, (score) => score[sort].actions),
      first: sum(scores, (score) => score[sort].first),
      inThree: sum(scores, (score) => score[sort].inThree),
    });
    const [alone, paired] = [ranks('alone'), ranks('paired')];
    const idle = sum(scores, (score) => score.idle.actions);
    const claims = sum(scores, (score) => score.idle.claims);
    const near = scores.filter(({ clock }) => clock.found && Math.abs(clock.errorS) <= 0.1).length;
    console.log(
      `links on ${scores.length} vehicles, ${Math.min(...scores.map(({ fields }) => fields))} fields that move at least: ` +
        `direct first ${alone.first}/${alone.actions} (aim 0.95), in three ${alone.inThree}/${alone.actions} (aim 0.99), ` +
        `of those always done with another ${paired.first} and ${paired.inThree} of ${paired.actions}; ` +
        `offset within 0.1 s ${near}/${scores.length} (aim 0.98), errors ${scores.map(({ clock }) => clock.errorS.toFixed(3)).join(' ')} s; ` +
        `false claims ${claims} over ${idle} actions that nothing answers (aim 0.05 an action)`,
    );
    expect(alone.actions).toBeGreaterThanOrEqual(3 * scores.length);
    expect(alone.first / alone.actions).toBeGreaterThanOrEqual(0.9);
    expect(alone.inThree / alone.actions).toBeGreaterThanOrEqual(0.95);
    expect(near / scores.length).toBeGreaterThanOrEqual(0.9);
    expect(claims / idle).toBeLessThanOrEqual(0.1);
  });
});
