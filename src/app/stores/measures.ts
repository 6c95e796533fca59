/** What questions to the engine cost, for the developer's panel: the last hundred, with times and bytes that came over. */
import { create } from 'zustand';

export interface Measure {
  /** What was asked, without its figures: "overview", "threads". */
  readonly name: string;
  readonly tookMs: number;
  /** Bytes of typed arrays in the answer. */
  readonly bytes: number;
}

const KEPT = 100;

interface MeasuresState {
  readonly measures: readonly Measure[];
  note(measure: Measure): void;
}
export const useMeasures = create<MeasuresState>((set, get) => ({
  measures: [],
  note: (measure) => set({ measures: [...get().measures.slice(1 - KEPT), measure] }),
}));

/** Bytes of all typed arrays within an answer. */
export function arrayBytes(value: unknown): number {
  if (ArrayBuffer.isView(value)) return value.byteLength;
  if (Array.isArray(value)) return value.reduce((sum: number, item) => sum + arrayBytes(item), 0);
  if (value && typeof value === 'object')
    return Object.values(value).reduce((sum: number, item) => sum + arrayBytes(item), 0);
  return 0;
}

/** "c1@1/overview/..." was asked for "overview". */
export const questionName = (key: string): string => key.split('/')[1] ?? key;
