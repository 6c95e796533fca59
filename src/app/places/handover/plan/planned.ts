/** The keep-alive plan of the map as it stands, and what it still waits for: published by the place, read by panel and outputs. */
import { create } from 'zustand';
import type { KeepAlivePlan } from '../../../../handover/needs/types.ts';

interface PlannedState {
  /** null before there is a map. */
  readonly plan: KeepAlivePlan | null;
  /** "2 of 5 captures" have answered; empty: all have. */
  readonly waits: string;
}

export const usePlanned = create<PlannedState>(() => ({ plan: null, waits: '' }));
