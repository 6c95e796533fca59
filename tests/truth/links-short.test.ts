/**
 * Scorecard of short captures named after one action each, over machines of the evidence simulator: is what was touched put first, as by one long capture of the
 * same machine with marks, and is nothing claimed where the names are dealt out at random? Fields are placed as the truth has them.
 */
import { describe, expect, it } from 'vitest';
import { joinCaptures } from '../../src/actions/joined-captures.ts';
import { linkFields } from '../../src/actions/link.ts';
import { linkShortCaptures } from '../../src/actions/short-captures.ts';
import type { ActionLinks, LinkReport } from '../../src/actions/types.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeEvidenceDossier } from './evidence/make-dossier.ts';
import type { EvidenceTruth } from './evidence/make-evidence.ts';
import { trueFieldOf } from './evidence/truth-of.ts';
import { rankOf } from './links-scorecard.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const { base, seeds } = seedsFor('links short', asked ? 10 : 2);
const SURE_Q = 0.05;

interface Score {
  actions: number;
  first: number;
  inThree: number;
  /** Actions that nothing answers, and sure links claimed for them. */
  idle: number;
  claims: number;
}

const blank = (): Score => ({ actions: 0, first: 0, inThree: 0, idle: 0, claims: 0 });
const sureOf = ({ links }: ActionLinks): number => links.filter(({ q }) => q <= SURE_Q).length;

function add(score: Score, truth: EvidenceTruth, names: ReadonlySet<string>, report: LinkReport): void {
  for (const each of report.actions.filter(({ action }) => names.has(action))) {
    const { sort, direct = [] } = truth.actions.find(({ action }) => action === each.action) ?? {};
    const isDirect = (link: ActionLinks['links'][number]): boolean =>
      direct.includes(trueFieldOf(truth, link)?.signal ?? '');
    if (sort === 'answered' && direct.length > 0) {
      const rank = rankOf(each, isDirect);
      score.actions++;
      if (rank === 1) score.first++;
      if (rank >= 1 && rank <= 3) score.inThree++;
      if (rank !== 1 && process.env['LOOMSCRIBE_SHOW_WRONG'])
        console.log(
          `${truth.machine} ${each.action}: direct one at ${rank || 'none'} of ${sureOf(each)}; ` +
            each.links
              .slice(0, 5)
              .map(
                (link) =>
                  `${trueFieldOf(truth, link)?.signal} ${link.surprise?.toFixed(1)} q ${link.q.toPrecision(2)} ${link.lagS}`,
              )
              .join(', '),
        );
    }
    if (sort === 'unanswered') {
      score.idle++;
      score.claims += sureOf(each);
    }
  }
}

const said = ({ actions, first, inThree, idle, claims }: Score): string =>
  `direct first ${first}/${actions}, in three ${inThree}/${actions}, false claims ${claims} over ${idle} actions that nothing answers`;

describe(`twenty short captures of each of ${seeds.length} machines, seeds from ${base}`, () => {
  it('tell what one long capture with marks tells', { timeout: 1_800_000 }, async () => {
    const [short, long, dealt] = [blank(), blank(), blank()];
    for (const seed of seeds) {
      const { captures, machine } = makeEvidenceDossier(seed);
      const [{ truth }] = captures as [(typeof captures)[number]];
      const joined = joinCaptures(captures.map(({ table }) => table));
      const actions = captures.map(({ action }) => action);
      const names = new Set(actions.filter((action) => action !== null));
      const { trueFindings: findings } = machine;
      add(short, truth, names, await linkShortCaptures({ joined, actions, findings, seed: 1, unsureShown: 5 }, {}));
      const { table, marks } = machine;
      add(long, machine.truth, names, await linkFields({ table, findings, marks, offset: 'auto', seed: 1 }, {}));
      const shuffled = createRandom(seed)
        .fork('dealt')
        .shuffle([...actions]);
      const random = await linkShortCaptures({ joined, actions: shuffled, findings, seed: 1 }, {});
      // Names that fell on captures of one action again are right in a way.
      const isMixed = (name: string): boolean => new Set(actions.filter((_, at) => shuffled[at] === name)).size > 1;
      const mixed = random.actions.filter(({ action }) => isMixed(action));
      dealt.idle += mixed.length;
      dealt.claims += mixed.reduce((sum, each) => sum + sureOf(each), 0);
    }
    console.log(
      `short captures: ${said(short)}; one long capture each: ${said(long)}; ` +
        `names dealt at random: ${dealt.claims} claims over ${dealt.idle} actions (aim 0.05 an action)`,
    );
    expect(short.actions).toBeGreaterThanOrEqual(4 * seeds.length);
    expect(short.first / short.actions).toBeGreaterThanOrEqual(0.85);
    expect(short.inThree / short.actions).toBeGreaterThanOrEqual(0.9);
    expect(dealt.claims / dealt.idle).toBeLessThanOrEqual(0.15);
  });
});
