/** What timing finds, over vehicles of both simulators under many conditions, from seeds of the commit; LOOMSCRIBE_TRUTH_SEEDS draws others. */
import { afterAll, describe, expect, it } from 'vitest';
import { surveyTable } from '../../src/timing/survey.ts';
import { seedsFor } from './support/vehicles.ts';
import { CONDITIONS, recordDemo, recordOther, type Condition, type Recorded } from './timing-scorecard-cases.ts';
import { addUp, printConfusion, printTable } from './timing-scorecard-print.ts';
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

  afterAll(() => {
    const all = rows.flatMap(([, scores]) => scores);
    console.log([printTable([...rows, ['all', all]]), '', printConfusion(all)].join('\n'));
    if (process.env['LOOMSCRIBE_SHOW_WRONG'])
      for (const { name, wrong } of all) console.log([name, ...wrong].join('\n  '));
  });
});
