/** Delays after an event as bars on one axis: what the after-waking picture and the sequences share. Pure. */
import { ticks } from 'd3-array';

export interface DelayRow {
  readonly key: string;
  /** What happens then, for a person. */
  readonly label: string;
  /** Its sender's letter; null where nobody knows. */
  readonly group: string | null;
  readonly lowMs: number;
  readonly highMs: number;
  /** The median, where there is one. */
  readonly midMs: number | null;
  /** How often it was seen, in words: "6 of 6 times". */
  readonly seen: string;
  /** Named by a guess: italic. */
  readonly inferred: boolean;
}

export interface DelayAxis {
  readonly fromMs: number;
  readonly toMs: number;
  readonly ticks: readonly number[];
}

/** About how many figures the axis bears. */
const TICKS = 5;

/** Zero is always on it; a step that came before its event is, too. */
export function delayAxis(rows: readonly DelayRow[]): DelayAxis {
  const lows = rows.map(({ lowMs }) => lowMs);
  const highs = rows.map(({ highMs }) => highMs);
  const least = Math.min(0, ...lows);
  const most = Math.max(1, ...highs);
  const marks = ticks(least, most, TICKS);
  const step = (marks[1] ?? 1) - (marks[0] ?? 0);
  const fromMs = least < 0 ? Math.floor(least / step) * step : 0;
  const toMs = Math.ceil(most / step) * step;
  return { fromMs, toMs, ticks: ticks(fromMs, toMs, TICKS) };
}

/** Share of the axis, 0..1. */
export const placeOn = ({ fromMs, toMs }: DelayAxis, ms: number): number => (ms - fromMs) / (toMs - fromMs);
