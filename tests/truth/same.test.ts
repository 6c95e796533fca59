/**
 * The same quantity in several fields, over vehicles of both simulators: `npm run scorecard -- same` draws its seeds from the commit and takes
 * more conditions, `npm test` a few that stay the same.
 */
import { afterAll, describe, expect, it } from 'vitest';
import { textTable } from '../../src/cli/text-table.ts';
import { isPicked, pickedCases, type Case } from './fields-conditions.ts';
import { newSameCard, scoreSameValues, type SameCard } from './same-scorecard.ts';
import { seedsFor } from './support/vehicles.ts';

const { base } = seedsFor('same', 0);
const isWhole = process.env['LOOMSCRIBE_SEED'] !== undefined || isPicked();
const TIMES = Number(process.env['LOOMSCRIBE_TIMES'] ?? '1');
const FEW = ['demo plain', 'other short', 'stranger plain'];

const named = ({ maker, condition }: Case): string => `${maker} ${condition}`;
const cases = pickedCases().filter((each) => isWhole || FEW.includes(named(each)));
const rows: [string, SameCard][] = [];

function sum(): SameCard {
  const all = newSameCard();
  for (const [, card] of rows) {
    const { troubles, ...counts } = card;
    for (const name of Object.keys(counts) as (keyof typeof counts)[]) all[name] += counts[name];
    all.troubles.push(...troubles);
  }
  return all;
}

const share = (some: number, others: number): string =>
  some + others === 0 ? '-' : `${(some / (some + others)).toFixed(3)} (${some + others})`;
const cells = (name: string, card: SameCard): string[] => [
  name,
  String(card.vehicles),
  String(card.groups),
  share(card.right, card.wrong),
  share(card.clearSaid, card.clearMissed),
  share(card.said, card.missed),
  String(card.kin),
  String(card.unclear),
];

describe(`same values (base ${base.slice(0, 10)})`, () => {
  for (const each of cases) {
    it(named(each), { timeout: 300_000 * TIMES }, async () => {
      const card = newSameCard();
      for (const seed of seedsFor(`same ${named(each)}`, TIMES).seeds) await scoreSameValues(each, seed, card);
      rows.push([named(each), card]);
      expect(card.vehicles).toBe(TIMES);
    });
  }

  // Floors: below what 7 vehicles that nobody tuned to reached (0.98 of 216, 0.46 of 138); a claim that misleads is worse than one not made. No goal.
  it.skipIf(isPicked())('keeps above the floors', () => {
    const card = sum();
    expect(card.right / (card.right + card.wrong)).toBeGreaterThan(0.9);
    expect(card.clearSaid / (card.clearSaid + card.clearMissed)).toBeGreaterThan(0.4);
  });

  afterAll(() => {
    const all = sum();
    if (process.env['LOOMSCRIBE_SHOW_WRONG']) console.log(all.troubles.join('\n'));
    const heads = ['', 'vehicles', 'groups', 'pairs right', 'clear pairs found', 'all pairs found', 'kin', 'unclear'];
    const columns = heads.map((head) => ({ head, right: head !== '' }));
    const body = [...rows.map(([name, card]) => cells(name, card)), cells('all', all)];
    console.log(`same values, seeds from ${base}\n\n${textTable(columns, body)}`);
  });
});
