/**
 * Scorecard of physical laws between fields: told on vehicles on which they hold, and of nothing else. Each vehicle once as it is, and once without its
 * pack, where torque, speeds and voltages of other modules go on and no current, charge or cell is there to obey a law. Fields as they truly are.
 */
import { describe, expect, it } from 'vitest';
import type { CheckName, CrossCheck } from '../../src/draft/cross-checks/types.ts';
import { findMeaning } from '../../src/draft/meaning.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { makeEvidenceVehicle, type EvidenceTruth } from './evidence/make-evidence.ts';
import { fieldFor, trueFieldOf } from './evidence/truth-of.ts';
import { seedsFor } from './support/vehicles.ts';

const MANY = process.env['LOOMSCRIBE_SEED'] === undefined ? 1 : 6;
const drawn = seedsFor('laws', 2 * MANY * Number(process.env['LOOMSCRIBE_TIMES'] ?? 1));

/** What may stand at each place of a law: the quantity itself, and what is so tied to it that the law holds of it too. */
const SPEED = /^(turns|speed|wheel speed)/;
const MAY_BE: Readonly<Record<CheckName, readonly (readonly [part: string, quantity: RegExp])[]>> = {
  'alike-speeds': [['speed', /^wheel speed/]],
  'constant-ratio': [['speed', SPEED]],
  'power-balance': [
    ['torque', /^torque.* (asked|given|echo)$/],
    ['speed', SPEED],
    // A voltage sags by the current that is drawn.
    ['power', /^pack (amps|volts)$|link volts$|^cell/],
  ],
  'charge-sum': [
    ['current', /^pack (amps|volts)$|link volts$|^cell/],
    ['level', /^charge$/],
  ],
  'cell-sum': [
    ['cell', /^cell/],
    ['sum', /^pack volts$|link volts$|^cell mean$/],
  ],
};
const LAW_OF: Readonly<Record<CheckName, EvidenceTruth['relations'][number]['law']>> = {
  'alike-speeds': 'wheel-speeds',
  'constant-ratio': 'ratio',
  'power-balance': 'power',
  'charge-sum': 'charge',
  'cell-sum': 'cells',
};
const CHECKS = Object.keys(LAW_OF) as CheckName[];
/** Laws whose quantities the pack alone measures. */
const OF_PACK: readonly CheckName[] = ['charge-sum', 'cell-sum'];

function isRight({ check, members }: CrossCheck, truth: EvidenceTruth): boolean {
  return members.every(({ part, place }) => {
    const quantity = trueFieldOf(truth, place)?.quantity ?? '';
    return MAY_BE[check].some(([may, pattern]) => may === part && pattern.test(quantity));
  });
}

interface Row {
  readonly check: CheckName;
  /** Vehicles on which it holds, and those of them on which it is told rightly. */
  holds: number;
  found: number;
  /** Claims, and those of them that are right. */
  told: number;
  right: number;
  /** Claims about a vehicle that has no pack. */
  without: number;
  withoutRight: number;
}

const wrong: string[] = [];

async function checksOf(
  seed: number,
  unplugged: string | null,
): Promise<{ truth: EvidenceTruth; checks: readonly CrossCheck[] }> {
  const { table, trueFindings: findings, truth } = makeEvidenceVehicle(seed, unplugged === null ? {} : { unplugged });
  const { checks } = await findMeaning({ table, findings, survey: surveyTable(table, {}), links: null, seed: 1 }, {});
  return { truth, checks: checks.checks };
}

function show(seed: number, { why, members }: CrossCheck, truth: EvidenceTruth): void {
  wrong.push(`  ${seed}: ${members.map(({ place }) => trueFieldOf(truth, place)?.signal ?? '?').join(', ')}: ${why}`);
}

async function score(seed: number, rows: readonly Row[]): Promise<void> {
  const whole = await checksOf(seed, null);
  const pack = whole.truth.fields.find(({ signal }) => signal === 'charge')?.sender as string;
  const bare = await checksOf(seed, pack);
  for (const row of rows) {
    const law = whole.truth.relations.find((one) => one.law === LAW_OF[row.check]);
    const told = whole.checks.filter(({ check }) => check === row.check);
    const right = told.filter((one) => isRight(one, whole.truth));
    const lone = bare.checks.filter(({ check }) => check === row.check);
    const loneRight = lone.filter((one) => !OF_PACK.includes(row.check) && isRight(one, bare.truth));
    if (law?.signals.every((signal) => fieldFor(whole.truth, signal) !== null)) {
      row.holds++;
      if (right.length > 0) row.found++;
    }
    row.told += told.length;
    row.right += right.length;
    row.without += lone.length;
    row.withoutRight += loneRight.length;
    told.filter((one) => !right.includes(one)).forEach((one) => show(seed, one, whole.truth));
    lone.filter((one) => !loneRight.includes(one)).forEach((one) => show(seed, one, bare.truth));
  }
}

describe(`physical laws (seeds from "${drawn.base}")`, () => {
  it('are told where they hold, and not where only their like is', { timeout: 900_000 }, async () => {
    const rows = CHECKS.map((check): Row => ({
      check,
      holds: 0,
      found: 0,
      told: 0,
      right: 0,
      without: 0,
      withoutRight: 0,
    }));
    for (const seed of drawn.seeds) await score(seed, rows);
    for (const { check, holds, found, told, right, without, withoutRight } of rows)
      console.log(
        `${check}: told on ${found} of ${holds} vehicles on which it holds; claims right ${right}/${told}; without the pack ${withoutRight}/${without}`,
      );
    if (process.env['LOOMSCRIBE_SHOW_WRONG']) console.log(wrong.join('\n'));
    const sum = (of: (row: Row) => number): number => rows.reduce((total, row) => total + of(row), 0);
    expect(sum(({ holds }) => holds)).toBeGreaterThanOrEqual(8 * MANY);
    expect(sum(({ found }) => found) / sum(({ holds }) => holds)).toBeGreaterThanOrEqual(0.4);
    const claims = sum(({ told, without }) => told + without);
    expect(sum(({ right, withoutRight }) => right + withoutRight) / claims).toBeGreaterThanOrEqual(0.8);
  });
});
