/**
 * Scorecard of roles and of naming help over vehicles of two makers: are a command and what follows it called so, is nothing else called a command, is
 * the share said of a first candidate the share that is right? With fields as they truly are; `LOOMSCRIBE_FIELDS=found` takes found ones.
 * Floors are what a regression must not fall below; the aims are printed beside what was reached.
 */
import { describe, expect, it } from 'vitest';
import type { ProfileName } from '../../src/demo/profiles.ts';
import { demoCase, evidenceCase, PARTS, scoreRoles, type Part, type RolesScore } from './roles-scorecard.ts';
import { seedsFor } from './support/vehicles.ts';

const TIMES = Number(process.env['LOOMSCRIBE_TIMES'] ?? 1);
const FIELDS = process.env['LOOMSCRIBE_FIELDS'] === 'found' ? 'found' : 'placed';
const PROFILES: readonly ProfileName[] = ['plain', 'guarded', 'extended'];
/** Few where it is only guarded that nothing gets worse: each takes some ten seconds. */
const MANY = process.env['LOOMSCRIBE_SEED'] === undefined ? 1 : 4;
const demo = seedsFor('roles demo', MANY * TIMES);
const evidence = seedsFor('roles evidence', (MANY === 1 ? 2 : 12) * TIMES);

const sum = (scores: readonly RolesScore[], of: (score: RolesScore) => number): number =>
  scores.reduce((total, score) => total + of(score), 0);
const share = (part: number, whole: number): string =>
  `${part}/${whole} (${whole > 0 ? (part / whole).toFixed(2) : '-'})`;

interface Totals {
  readonly pairs: number;
  readonly both: number;
  readonly swapped: number;
  readonly untold: number;
  readonly claimed: number;
  readonly claimedRight: number;
}

/** Of each role, claims that are right among fields with a known one, beside the confidence that was said. */
function sayByRole(scores: readonly RolesScore[]): void {
  const all = scores.flatMap(({ confidences }) => confidences);
  for (const role of new Set(all.map((one) => one.role))) {
    const own = all.filter((one) => one.role === role);
    const said = own.reduce((total, { confidence }) => total + confidence, 0) / own.length;
    const right = own.filter((one) => one.right).length;
    console.log(`  called ${role}: right ${share(right, own.length)}, confidence said ${said.toFixed(2)}`);
  }
}

function total(name: string, scores: readonly RolesScore[]): Totals {
  const totals: Totals = {
    pairs: sum(scores, ({ pairs }) => pairs),
    both: sum(scores, ({ both }) => both),
    swapped: sum(scores, ({ swapped }) => swapped),
    untold: sum(scores, ({ untold }) => untold),
    claimed: sum(scores, ({ claimed }) => claimed),
    claimedRight: sum(scores, ({ claimedRight }) => claimedRight),
  };
  const { pairs, both, swapped, untold, claimed, claimedRight } = totals;
  console.log(
    `roles, ${name}, ${scores.length} vehicles, fields ${FIELDS}: command and feedback right ${share(both, pairs)} (aim 0.9), ` +
      `of those told ${share(both, pairs - untold)}, swapped ${swapped}, not told ${untold}; called commands and so ${share(claimedRight, claimed)}`,
  );
  for (const from of [0, 0.6, 0.75, 0.85]) {
    const to = from === 0 ? 0.6 : from === 0.6 ? 0.75 : from === 0.75 ? 0.85 : 1;
    const within = scores.flatMap(({ names }) => names).filter((one) => one.share >= from && one.share < to);
    const right = within.filter((one) => one.right).length;
    if (within.length > 0) console.log(`  naming, share said ${from} to ${to}: right ${share(right, within.length)}`);
  }
  sayByRole(scores);
  if (process.env['LOOMSCRIBE_SHOW_WRONG'])
    for (const score of scores)
      console.log([...score.falseOnes, ...score.falseParts, ...score.lost].map((line) => `  ${line}`).join('\n'));
  return totals;
}

/** Limits, enables, faults and echoes: told of those that the recording shows often enough, and claims that are right. */
function partsOf(name: string, scores: readonly RolesScore[]): Record<Part, { claims: number; right: number }> {
  const rows = PARTS.map((part) => {
    const of = (key: 'shown' | 'told' | 'claims' | 'right'): number =>
      sum(scores, ({ parts }) => parts.find((one) => one.part === part)?.[key] ?? 0);
    console.log(
      `  ${part}, ${name}: told ${share(of('told'), of('shown'))}; claims right ${share(of('right'), of('claims'))}`,
    );
    return [part, { claims: of('claims'), right: of('right') }] as const;
  });
  return Object.fromEntries(rows) as Record<Part, { claims: number; right: number }>;
}

describe(`roles (seeds from "${demo.base}")`, () => {
  it('calls commands and what follows them by their roles', { timeout: 3_600_000 }, async () => {
    const demos: RolesScore[] = [];
    for (const [k, seed] of demo.seeds.entries())
      demos.push(await scoreRoles(demoCase(PROFILES[k % PROFILES.length] as ProfileName, seed), FIELDS));
    const others: RolesScore[] = [];
    for (const seed of evidence.seeds) others.push(await scoreRoles(evidenceCase(seed), FIELDS));
    const [first, second] = [total('demo', demos), total('evidence', others)];
    partsOf('demo', demos);
    const parts = partsOf('evidence', others);
    for (const part of ['limit', 'enable', 'fault'] as const)
      expect(parts[part].claims - parts[part].right).toBeLessThanOrEqual(Math.max(1, 0.15 * parts[part].claims));
    expect(first.pairs).toBeGreaterThan(0);
    expect(second.pairs).toBeGreaterThanOrEqual(6 * MANY);
    const pairs = first.pairs + second.pairs;
    expect((first.both + second.both) / pairs).toBeGreaterThanOrEqual(0.7);
    expect(first.swapped + second.swapped).toBeLessThanOrEqual(0.05 * pairs);
    const claims = { right: first.claimedRight + second.claimedRight, all: first.claimed + second.claimed };
    expect(claims.right / claims.all).toBeGreaterThanOrEqual(0.85);
  });
});
