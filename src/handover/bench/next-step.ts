/** Where the bench stands and what to do next, from the record alone. */
import type { SignalMap } from '../../map/schema.ts';
import { disturbedState } from './disturbed.ts';
import { plainState } from './plain-step.ts';
import type { BenchRecord } from './record-schema.ts';
import type { BenchState } from './steps.ts';

export type { BenchState, BenchStep, PlannedTrial } from './steps.ts';

export const benchState = (map: Pick<SignalMap, 'frames'>, record: BenchRecord): BenchState =>
  disturbedState(map, record) ?? { ...plainState(map, record), setOut: [] };
