/**
 * What the field finders find, over vehicles of four makers under eight conditions; `npm run scorecard -- fields` draws its seeds from
 * the commit and takes all of them, `npm test` a few that stay the same.
 */
import { afterAll, describe, expect, it } from 'vitest';
import { isPicked, pickedCases, scoreVehicle, seedsOf, type Case } from './fields-conditions.ts';
import { aboutNinety, printCard, troublesText, type Row } from './fields-scorecard-print.ts';
import { addCard, f1, newScorecard, precision, recall, type Scorecard } from './fields-scorecard.ts';
import { seedsFor } from './support/vehicles.ts';

const { base } = seedsFor('fields', 0);
const isWhole = process.env['LOOMSCRIBE_SEED'] !== undefined || isPicked();
const TIMES = Number(process.env['LOOMSCRIBE_TIMES'] ?? '1');
const DEMO = ['demo plain', 'demo guarded', 'demo paged'];
const OTHER = ['other short'];
const FEW = [...DEMO, ...OTHER];

const named = ({ maker, condition }: Case): string => `${maker} ${condition}`;
const cases = pickedCases().filter((each) => isWhole || FEW.includes(named(each)));
const rows: Row[] = [];

function sumOver(matching: (name: string) => boolean): Scorecard {
  const sum = newScorecard();
  for (const [name, card] of rows) if (matching(name)) addCard(sum, card);
  return sum;
}

describe(`fields (base ${base.slice(0, 10)})`, () => {
  for (const each of cases) {
    it(named(each), { timeout: 900_000 * TIMES }, async () => {
      const card = newScorecard();
      for (const seed of seedsOf(each, TIMES)) addCard(card, await scoreVehicle(each, seed));
      rows.push([named(each), card]);
      expect(card.spans.all.right + card.spans.all.missed).toBeGreaterThan(30);
    });
  }

  // Floors: what eight unrelated seeds reached, less a margin (spans: the three vehicles of five bases that nobody tuned to); they guard against falling back and are no goal.
  it.skipIf(isPicked())('keeps above the floors and beats the published flip-rate rule', () => {
    const card = sumOver((name) => DEMO.includes(name));
    expect(f1(card.unpaged)).toBeGreaterThan(f1(card.baseline));
    expect(f1(card.unpaged)).toBeGreaterThan(0.58);
    expect(f1(card.paged)).toBeGreaterThan(0.65);
    expect(precision(card.selectors)).toBeGreaterThan(0.75);
    expect(recall(card.selectors)).toBeGreaterThan(0.75);
    expect(precision(card.counters)).toBeGreaterThan(0.92);
    expect(recall(card.counters)).toBeGreaterThan(0.85);
    expect(precision(card.checksums)).toBeGreaterThan(0.92);
    expect(recall(card.checksums)).toBeGreaterThan(0.88);
    expect(precision(card.order)).toBeGreaterThan(0.95);
    expect(precision(card.otherDrive)).toBeGreaterThan(0.99);
  });

  it.skipIf(isPicked())('says about 0.9 of what is right about nine times of ten', () => {
    const { share, n } = aboutNinety(sumOver(() => true).claims);
    expect(n).toBeGreaterThan(60);
    expect(share).toBeGreaterThan(0.8);
    expect(share).toBeLessThan(0.985);
  });

  afterAll(() => {
    const sum = sumOver(() => true);
    if (process.env['LOOMSCRIBE_SHOW_WRONG']) console.log(troublesText(sum.troubles));
    console.log(`fields, seeds from ${base}\n\n${printCard(rows, sum)}`);
  });
});
