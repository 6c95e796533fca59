/** The trials of a record as the drawing and the table have them. Pure. */
import type { BenchState } from '../../../../handover/bench/next-step.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import type { Verdict } from './words.ts';

export interface HistoryRow {
  readonly key: string;
  /** Name, or bus and identifier; as long as the drawing has room for. */
  readonly label: string;
  readonly group: string | null;
}

export interface HistoryTrial {
  readonly number: number;
  readonly sent: ReadonlySet<string>;
  readonly verdict: Verdict;
  readonly reasons: readonly string[];
  readonly moved: boolean | null;
  /** Why it does not count; null where it does. */
  readonly out: string | null;
  readonly setAside: boolean;
}

const LABEL_MOST = 18;

export function historyOf(
  record: BenchRecord,
  { judged, counting }: BenchState,
): { readonly rows: readonly HistoryRow[]; readonly trials: readonly HistoryTrial[] } {
  const out = new Map(counting.leftOut.map(({ trial, why }) => [trial, why]));
  const rows = record.candidates.map(({ key, name, group }) => {
    const label = name || key;
    return { key, label: label.length > LABEL_MOST ? `${label.slice(0, LABEL_MOST - 1)}…` : label, group };
  });
  const trials = judged.map(({ trial, verdict, reasons }) => ({
    number: trial.number,
    sent: new Set(trial.sent),
    verdict,
    reasons,
    moved: trial.moved,
    out: out.get(trial.number) ?? null,
    setAside: trial.setAside !== '',
  }));
  return { rows, trials };
}
