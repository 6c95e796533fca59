/** The report as rows, what of it is shown, and what is held. */
import { useMemo } from 'react';
import type { ProofReport } from '../../../proof/hold/types.ts';
import type { SignalMap } from '../../../map/schema.ts';
import type { Finding } from '../../stores/finding.ts';
import { useView } from '../../stores/view.ts';
import { useHeldMap, useProofReport } from './asking.ts';
import {
  failedMoments,
  filtered,
  groupedRows,
  kindsOf,
  nextMoment,
  rowsOf,
  type RowGroup,
  type FrameRow,
  type ItemRow,
} from './rows.ts';
import { useProof } from './store.ts';

export interface Shown {
  readonly finding: Finding<ProofReport>;
  readonly map: SignalMap | null;
  readonly report: ProofReport | null;
  readonly kinds: readonly string[];
  /** By the filter, in the order in which they stand. */
  readonly rows: readonly FrameRow[];
  readonly groups: readonly RowGroup[];
  readonly all: readonly FrameRow[];
  readonly frame: FrameRow | null;
  readonly item: ItemRow | null;
  /** Seconds: of the item that is held, else of the frame, else of all that failed. */
  readonly moments: readonly number[];
}

/** The rows of a report and its map, worked out once for the place and its panel alike. */
const made = new WeakMap<ProofReport, { readonly map: SignalMap; readonly rows: readonly FrameRow[] }>();
function rowsOnce(report: ProofReport, map: SignalMap): readonly FrameRow[] {
  const known = made.get(report);
  if (known?.map === map) return known.rows;
  const rows = rowsOf(report, map);
  made.set(report, { map, rows });
  return rows;
}

const NO_ROWS: readonly FrameRow[] = [];

export function useShown(): Shown {
  const finding = useProofReport();
  const map = useHeldMap();
  const filter = useProof((state) => state.filter);
  const frameKey = useProof((state) => state.frame);
  const itemKey = useProof((state) => state.item);
  const report = finding.value;
  const all = report && map ? rowsOnce(report, map) : NO_ROWS;
  const groups = useMemo(() => groupedRows(filtered(all, filter)), [all, filter]);
  const rows = useMemo(() => groups.flatMap((group) => group.rows), [groups]);
  const kinds = useMemo(() => (report ? kindsOf(report) : []), [report]);
  const frame = rows.find(({ key }) => key === frameKey) ?? null;
  const item = frame?.items.find(({ key }) => key === itemKey) ?? null;
  const moments = useMemo(
    () => (item ? item.item.moments : frame ? failedMoments(frame) : rows.flatMap(failedMoments)),
    [item, frame, rows],
  );
  return { finding, map, report, kinds, rows, groups, all, frame, item, moments };
}

/** So much is in view round a moment that was jumped to, seconds, unless the view is narrower. */
const AROUND_S = 20;

export function jumpTo(atS: number): void {
  const view = useView.getState();
  const { fromS, toS } = view.window;
  view.setCursor(atS);
  const length = Math.min(toS - fromS, AROUND_S);
  if (length < toS - fromS || atS < fromS || atS > toS) view.setWindow(atS - length / 2, atS + length / 2);
}

/** To the next or the last moment of what is held. @returns whether there was one */
export function step(moments: readonly number[], direction: 1 | -1): boolean {
  const atS = nextMoment(moments, useView.getState().cursorS, direction);
  if (atS !== null) jumpTo(atS);
  return atS !== null;
}

export function holdFrame(frame: FrameRow | null, open?: boolean): void {
  const { set, frame: before, open: wasOpen } = useProof.getState();
  set({ frame: frame?.key ?? null, item: null, open: open ?? (frame?.key === before && wasOpen) });
  if (frame?.stream) useView.getState().select({ stream: frame.stream });
}

export function holdItem(frame: FrameRow, item: ItemRow): void {
  useProof.getState().set({ frame: frame.key, item: item.key, open: true });
  const signal = frame.mapFrame?.signals.find(({ name }) => item.item.item === 'signal' && name === item.item.name);
  useView.getState().select({ stream: frame.stream, ...(signal ? { signal: signal.name } : {}) });
}

/** What the keyboard walks through: frames, and the items of the one that is open. */
export const stopsOf = (
  rows: readonly FrameRow[],
  openKey: string | null,
): readonly { readonly frame: FrameRow; readonly item: ItemRow | null }[] =>
  rows.flatMap((frame) => [
    { frame, item: null },
    ...(frame.key === openKey ? frame.items.map((item) => ({ frame, item })) : []),
  ]);
