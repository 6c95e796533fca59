/**
 * The keep-alive plan over vehicles of two simulators whose seeds come from the commit: phases within a sender, the order after a waking,
 * reasons by that order, and reasons by a module's absence. Floors lie below what several bases gave.
 */
import { afterAll, describe, expect, it } from 'vitest';
import type { ProfileName } from '../../src/demo/profiles.ts';
import type { ModuleRole } from '../../src/demo/quantities.ts';
import type { LoggerOptions } from '../../src/demo/recording/logger.ts';
import { keepAlivePlan } from '../../src/handover/needs/plan.ts';
import { demoAbsence, otherAbsence, scoreAbsences, type AbsenceCase, type AbsenceScore } from './needs-absences.ts';
import { recordDemo, recordOtherwiseNeeds, type NeedsCase } from './needs-cases.ts';
import { scoreOrder, scoreOrderReasons, scorePhases, senderless } from './needs-score.ts';
import { addClaims, type Claims } from './support/claims.ts';
import { seedsFor } from './support/vehicles.ts';
import { recordUnplugged } from './unplugged-cases.ts';

const DEMO: readonly {
  readonly profile: ProfileName;
  readonly name: string;
  readonly logger?: Partial<LoggerOptions>;
}[] = [
  { profile: 'plain', name: '1 us' },
  { profile: 'dense', name: 'two buses, 1 ms', logger: { resolutionUs: 1000 } },
  { profile: 'extended', name: 'lost frames', logger: { lossBursts: 6, lossMost: 200 } },
  { profile: 'fd', name: 'CAN FD' },
];
const OTHERWISE = [
  { name: 'other simulator, 1 us', wish: {} },
  { name: 'other simulator, two buses, 1 ms', wish: { buses: 2, modules: 5, logger: { resolutionUs: 1000 } } },
  { name: 'other simulator, sleep and modes', wish: { steady: false } },
] as const;
const UNPLUGGED: readonly { readonly profile: ProfileName; readonly role?: ModuleRole }[] = [
  { profile: 'plain', role: 'inverter' },
  { profile: 'guarded' },
  { profile: 'extended', role: 'inverter' },
];

interface Score {
  readonly phases: Claims;
  /** Frames with a rhythm whose sender the survey does not tell: they can have no phase. */
  readonly senderless: number;
  readonly order: Claims;
  readonly reasons: Claims;
}

const words = ({ right, wrong, missed }: Claims): string => `${right} right, ${wrong} wrong, ${missed} not told`;
const precision = ({ right, wrong }: Claims): number => right / Math.max(1, right + wrong);
const recall = ({ right, wrong, missed }: Claims): number => right / Math.max(1, right + wrong + missed);

const { base, seeds } = seedsFor('needs', DEMO.length + 2 * OTHERWISE.length + UNPLUGGED.length);
const lines: string[] = [];
const scores: Score[] = [];
const absences: AbsenceScore[] = [];

function judge(name: string, given: NeedsCase): Score {
  const plan = keepAlivePlan(given.map, given.observations);
  const score = {
    phases: scorePhases(given, plan),
    senderless: senderless(given),
    order: scoreOrder(given, plan),
    reasons: scoreOrderReasons(given, plan),
  };
  lines.push(
    `${name}: phases ${words(score.phases)}, ${score.senderless} more of unknown senders; order of pairs ${words(score.order)}; before or after the part ${words(score.reasons)}`,
  );
  return score;
}

describe(`the keep-alive plan (base ${base.slice(0, 10)})`, () => {
  DEMO.forEach(({ profile, name, logger }, at) => {
    it(`${profile}, ${name}`, { timeout: 240_000 }, () => {
      const score = judge(`${profile}, ${name}`, recordDemo(profile, seeds[at] as number, logger));
      scores.push(score);
      expect(score.order.right + score.order.missed).toBeGreaterThan(0);
    });
  });

  OTHERWISE.forEach(({ name, wish }, at) => {
    it(name, { timeout: 240_000 }, () => {
      const seed = seeds[DEMO.length + at] as number;
      const score = judge(name, recordOtherwiseNeeds({ seed, ...wish }));
      scores.push(score);
      expect(score.phases.right + score.phases.missed).toBeGreaterThan(0);
    });
  });

  const judgeAbsence = (name: string, found: AbsenceCase): void => {
    const score = scoreAbsences(found);
    absences.push(score);
    lines.push(`${name}, without ${found.missing}: needed by ${score.parts} parts, ${words(score)}`);
    expect(score.parts).toBeGreaterThan(0);
  };

  UNPLUGGED.forEach(({ profile, ...more }, at) => {
    it(`${profile}, a module unplugged`, { timeout: 240_000 }, () => {
      const seed = seeds[DEMO.length + OTHERWISE.length + at] as number;
      const drives = { first: { durationS: 120 }, second: { durationS: 80 } };
      judgeAbsence(profile, demoAbsence(recordUnplugged({ profile, seed, ...drives, ...more })));
    });
  });

  OTHERWISE.forEach(({ name, wish }, at) => {
    it(`${name}, a module unplugged`, { timeout: 240_000 }, () => {
      const seed = seeds[DEMO.length + OTHERWISE.length + UNPLUGGED.length + at] as number;
      judgeAbsence(name, otherAbsence({ seed, ...wish }, [110, 60]));
    });
  });

  it('phases are right where they are told', () => {
    const phases = addClaims(scores, (score) => score.phases);
    const unknown = scores.reduce((sum, score) => sum + score.senderless, 0);
    lines.push(`phases, ${scores.length} vehicles: ${words(phases)}, ${unknown} more of unknown senders`);
    expect(precision(phases)).toBeGreaterThanOrEqual(0.95);
    expect(recall(phases)).toBeGreaterThanOrEqual(0.5);
  });

  it('the order after a waking is right', () => {
    const order = addClaims(scores, (score) => score.order);
    const reasons = addClaims(scores, (score) => score.reasons);
    lines.push(`order of pairs: ${words(order)}; before or after the part: ${words(reasons)}`);
    expect(precision(order)).toBeGreaterThanOrEqual(0.97);
    expect(precision(reasons)).toBeGreaterThanOrEqual(0.97);
  });

  it('a part is said to need what was missing where it reacts, and only there', () => {
    const said = addClaims(absences, (score) => score);
    const parts = absences.reduce((sum, score) => sum + score.parts, 0);
    lines.push(
      `needed by absence, ${parts} parts of ${absences.length} vehicles: ${words(said)}; said to go on as before though it reacts: ${absences.reduce((sum, { denied }) => sum + denied, 0)}`,
    );
    expect(said.wrong).toBeLessThanOrEqual(2);
  });

  afterAll(() => console.log(lines.join('\n')));
});
