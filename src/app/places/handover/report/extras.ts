/** What the report shows beside the map, as far as it is known: published where it is asked, read where files are made. */
import { create } from 'zustand';
import type { ReportTraces } from '../../../../handover/report/traces.ts';

interface ExtrasState {
  readonly traces: ReportTraces | null;
}

export const useExtras = create<ExtrasState>(() => ({ traces: null }));
