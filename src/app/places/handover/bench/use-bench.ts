/** The bench as it stands: the record with the map and plan that it speaks of, and what follows from it. The same for the place and its keys. */
import { useMemo } from 'react';
import type { BenchState } from '../../../../handover/bench/next-step.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { usePlanned } from '../plan/planned.ts';
import { planIn } from '../sending/planned-in.ts';
import { useMarkedRest, type MarkedRest } from '../sending/asking.ts';
import { recordNow, stateOnce, type BenchOf } from './kept.ts';
import { useBenchView } from './store.ts';

export interface BenchNow extends BenchOf {
  readonly record: BenchRecord;
  readonly state: BenchState;
  /** What is run next: a trial that the person asked for, or the next of the search; null where there is none. */
  readonly trial: TrialToRun | null;
}

export interface BenchView {
  readonly rest: MarkedRest;
  readonly now: BenchNow | null;
}

function trialOf({ step }: BenchState, own: TrialToRun | null, { trials }: BenchRecord): TrialToRun | null {
  if (own && step.kind === 'found' && own.number === trials.length + 1) return own;
  return step.kind === 'trial' || step.kind === 'cannot-tell' ? step.trial : null;
}

export function useBench(base: SignalMap): BenchView {
  const rest = useMarkedRest(base);
  const map = rest.map ?? base;
  const kept = useDossier(({ dossier }) => dossier.bench);
  const planned = usePlanned((state) => state.plan);
  const own = useBenchView((state) => state.own);
  const made = useMemo(() => {
    if (!planned) return null;
    const plan = planIn(planned, map);
    return { plan, record: recordNow(kept, { map, plan }) };
  }, [kept, map, planned]);
  const now = useMemo(() => {
    if (!made) return null;
    const { plan, record } = made;
    const state = stateOnce(map, record);
    return { map, plan, record, state, trial: trialOf(state, own, record) };
  }, [made, map, own]);
  return { rest, now };
}
