/** The run card's plan: what to do in the vehicle, how long, how often; kept in the dossier. */
import { z } from 'zod';
import { createRandom } from '../../../../kit/random.ts';
import type { Dossier } from '../../../../jobs/dossier.ts';

const runStepSchema = z.object({
  /** The action its marks are written for; empty: nothing is done and no mark written. */
  action: z.string(),
  /** The cue, as said to the driver. */
  says: z.string(),
  /** Seconds to hold; 0: an instant. */
  holdS: z.number().min(0).max(600),
  times: z.number().int().min(1).max(50),
  /** Of the marks, where the action has several: "on", "D". */
  value: z.string().optional(),
});
export type RunStep = z.infer<typeof runStepSchema>;

export const USUAL_PLAN: readonly RunStep[] = [
  { action: '', says: 'Touch nothing', holdS: 20, times: 1 },
  { action: 'brake pressed', says: 'Press the brake and hold', holdS: 3, times: 6 },
  { action: 'accelerator pressed', says: 'Press the accelerator to half and hold', holdS: 3, times: 6 },
  { action: 'selector moved', says: 'Move the selector one step', holdS: 0, times: 6 },
  { action: 'indicator left', says: 'Switch the left indicator on, then off', holdS: 4, times: 4 },
];

export function planOf(dossier: Dossier): readonly RunStep[] {
  const kept = z.array(runStepSchema).min(1).safeParse(dossier['runCard']);
  return kept.success ? kept.data : USUAL_PLAN;
}
export const withPlan = (dossier: Dossier, plan: readonly RunStep[]): Dossier => ({ ...dossier, runCard: [...plan] });

export interface Turn {
  /** Row of the plan. */
  readonly step: number;
  /** 1-based repetition of that row. */
  readonly repetition: number;
  /** Seconds with nothing touched before the cue. */
  readonly restS: number;
}

const REST_FROM_S = 4;
const REST_SPREAD_S = 5;

/** Every repetition with its pause. Pauses differ on purpose, so that nothing that merely repeats can look like an answer. */
export function turnsOf(plan: readonly RunStep[], seed: number): readonly Turn[] {
  const random = createRandom(seed);
  return plan.flatMap(({ action, times }, step) =>
    Array.from({ length: times }, (_, i) => ({
      step,
      repetition: i + 1,
      restS: action ? Math.round(REST_FROM_S + REST_SPREAD_S * random.next()) : 0,
    })),
  );
}
