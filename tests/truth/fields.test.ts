/** The field finders against simulated vehicles. LOOMSCRIBE_SEED draws other vehicles; LOOMSCRIBE_DRIVES makes more of them. */
import { describe, expect, it } from 'vitest';
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import { findFields } from '../../src/fields/find.ts';
import { driveOf } from '../fields/support/vehicle-streams.ts';
import { f1, newScorecard, precision, recall, scoreDrive, type Scorecard, type Tally } from './fields-scorecard.ts';

const SEED = process.env['LOOMSCRIBE_SEED'] ?? 'a';
const DRIVES = Number(process.env['LOOMSCRIBE_DRIVES'] ?? '1');
const NAMES = (process.env['LOOMSCRIBE_PROFILES'] ?? 'plain,guarded,paged').split(',') as ProfileName[];

async function score(): Promise<Scorecard> {
  const card = newScorecard();
  for (const profile of NAMES) {
    for (let index = 0; index < DRIVES; index++) {
      const drive = driveOf(profile, `${SEED}${index}`, Math.min(120, PROFILES[profile].durationS));
      const findings = await findFields(
        drive.streams.map(({ stream }) => stream),
        {},
        {},
      );
      scoreDrive(drive, findings, card);
    }
  }
  return card;
}

const line = (name: string, tally: Tally): string =>
  `${name.padEnd(34)} precision ${precision(tally).toFixed(3)}  recall ${recall(tally).toFixed(3)}  F1 ${f1(tally).toFixed(3)}  n ${tally.right + tally.missed}`;

function print(card: Scorecard): string {
  const sure = [...card.claims].sort((a, b) => b.confidence - a.confidence).slice(0, Math.ceil(card.claims.length / 4));
  return [
    `fields, ${NAMES.join(' ')}, seed ${SEED}, ${DRIVES} drive(s) each`,
    line('exact spans, frames without pages', card.plain),
    line('  the flip-rate rule on the same', card.baseline),
    line('exact spans, frames with pages', card.paged),
    line('counters', card.counters),
    line('checksums, place', card.checksums),
    line('selectors', card.selectors),
    `byte order of crossing spans ${precision(card.order).toFixed(3)} n ${card.order.right + card.order.wrong}; sign ${precision(card.sign).toFixed(3)} n ${card.sign.right + card.sign.wrong}`,
    `rules on another drive: ${card.otherDrive.passed} of ${card.otherDrive.checked} frames pass`,
    `surest quarter of claims: ${sure.filter((claim) => claim.right).length} of ${sure.length} right`,
    ...[0, 0.25, 0.5, 0.75, 0.9].map((from, i, all) => {
      const own = card.claims.filter(({ confidence }) => confidence >= from && confidence < (all[i + 1] ?? 2));
      return `  confidence from ${from}: ${own.filter((claim) => claim.right).length} of ${own.length} right`;
    }),
  ].join('\n');
}

// Floors: what eight unrelated seeds reached, less a margin; they guard against falling back and are no goal.
describe('fields of simulated vehicles', () => {
  it('keeps above the floors and beats the published flip-rate rule', { timeout: 600_000 }, async () => {
    const card = await score();
    console.log(print(card));
    expect(f1(card.plain)).toBeGreaterThan(f1(card.baseline));
    expect(f1(card.plain)).toBeGreaterThan(0.44);
    expect(f1(card.paged)).toBeGreaterThan(0.4);
    expect(precision(card.selectors)).toBeGreaterThan(0.75);
    expect(recall(card.selectors)).toBeGreaterThan(0.75);
    expect(precision(card.counters)).toBeGreaterThan(0.92);
    expect(recall(card.counters)).toBeGreaterThan(0.85);
    expect(precision(card.checksums)).toBeGreaterThan(0.92);
    expect(recall(card.checksums)).toBeGreaterThan(0.88);
    expect(precision(card.order)).toBeGreaterThan(0.95);
    expect(card.otherDrive.passed / card.otherDrive.checked).toBeGreaterThan(0.99);
  });
});
