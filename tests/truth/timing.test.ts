/** What timing finds, over vehicles of both simulators under many conditions; `npm run scorecard` draws its seeds from the commit. */
import { afterAll, describe, expect, it } from 'vitest';
import { surveyTable } from '../../src/timing/survey.ts';
import type { Claims } from './support/claims.ts';
import { seedsFor } from './support/vehicles.ts';
import { CONDITIONS, recordDemo, recordOther, type Condition, type Recorded } from './timing-scorecard-cases.ts';
import { addUp, printConfusion, printTable, quantileOf, type Totals } from './timing-scorecard-print.ts';
import { scoreTiming, type TimingScore } from './timing-scorecard.ts';

const { base } = seedsFor('timing', 0);
/** More vehicles of each condition, for looking closer. */
const TIMES = Number(process.env['LOOMSCRIBE_TIMES'] ?? '1');

async function* recordAll(condition: Condition): AsyncGenerator<Recorded> {
  const { seeds } = seedsFor(`timing ${condition.name}`, TIMES * (condition.others + condition.profiles.length));
  let next = 0;
  for (let time = 0; time < TIMES; time++) {
    for (let i = 0; i < condition.others; i++) yield recordOther(condition, seeds[next++] as number);
    for (const profile of condition.profiles) yield recordDemo(condition, profile, seeds[next++] as number);
  }
}

const rows: (readonly [string, readonly TimingScore[]])[] = [];

describe(`timing (base ${base.slice(0, 10)})`, () => {
  for (const condition of CONDITIONS) {
    it(condition.name, { timeout: 120_000 * TIMES }, async () => {
      const scores: TimingScore[] = [];
      for await (const { name, table, truth } of recordAll(condition)) {
        scores.push(scoreTiming(name, surveyTable(table, {}), truth));
      }
      rows.push([condition.name, scores]);
      expect(addUp(scores).kinds).toBeGreaterThan(10);
    });
  }

  // Floors: a little below the worst of five bases that nobody tuned to, over some 25 vehicles each; single vehicles differ far
  // more, so that conditions have none of their own. They guard against falling back and are no goal.
  describe('over all conditions', () => {
    const sum = (): Totals => addUp(rows.flatMap(([, scores]) => scores));
    const share = ({ right, missed }: Claims): number => right / Math.max(1, right + missed);

    it('senders', () => {
      const { index, precision, recall, confident, confidentRight, identifiers } = sum();
      expect(index).toBeGreaterThan(0.48);
      expect(precision).toBeGreaterThan(0.8);
      expect(recall).toBeGreaterThan(0.4);
      expect(confident / identifiers).toBeGreaterThan(0.15);
      expect(confidentRight / confident).toBeGreaterThan(0.96);
    });

    it('kinds and periods', () => {
      const { kinds, kindsRight, periodErrors, periods, modePeriods } = sum();
      expect(kindsRight / kinds).toBeGreaterThan(0.97);
      expect(periodErrors.length / periods).toBeGreaterThan(0.985);
      expect(quantileOf(periodErrors, 0.5)).toBeLessThan(6e-6);
      expect(quantileOf(periodErrors, 0.95)).toBeLessThan(4e-4);
      expect(share(modePeriods)).toBeGreaterThan(0.9);
    });

    it('replies and copies', () => {
      const { replies, vehicles } = sum();
      expect(replies.wrong).toBeLessThan(0.2 * vehicles);
      const { copies } = addUp(rows.flatMap(([name, scores]) => (name.startsWith('two buses') ? scores : [])));
      expect(share(copies)).toBeGreaterThan(0.6);
      expect(copies.wrong).toBe(0);
    });

    it('modes', () => {
      const { turns, vehicles } = sum();
      expect(share(turns)).toBeGreaterThan(0.75);
      expect(turns.wrong).toBeLessThan(vehicles);
    });

    it('the logger', () => {
      const { clock, stamps, vehicles } = sum();
      expect(share(clock)).toBeGreaterThan(0.6);
      expect(clock.wrong).toBeLessThan(0.4 * vehicles);
      expect(stamps.right / (2 * vehicles)).toBeGreaterThan(0.92);
      for (const [, scores] of rows) {
        for (const { lost, name } of scores) expect(lost.inAll ?? 0, name).toBeLessThanOrEqual(1.1 * lost.true + 20);
      }
    });
  });

  afterAll(() => {
    const all = rows.flatMap(([, scores]) => scores);
    console.log([printTable([...rows, ['all', all]]), '', printConfusion(all)].join('\n'));
    if (process.env['LOOMSCRIBE_SHOW_WRONG'])
      for (const { name, wrong } of all) console.log([name, ...wrong].join('\n  '));
  });
});
