/**
 * Who was sending steadily, when, and at which pace: the evidence that modes are cut from. Only identifiers with a period count. One that
 * sends on changes starts and stops with what it tells of, not with the vehicle; one that falls silent again and again by itself
 * tells of its own affairs.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import { intervals } from '../kinds/intervals.ts';
import { findPaces } from '../kinds/paces.ts';
import type { SurveyFrame } from '../types.ts';

export interface Spell {
  readonly fromUs: number;
  readonly toUs: number;
  readonly fromRow: number;
  /** The row after the last. */
  readonly toRow: number;
  readonly periodUs: number;
}

export interface Activity {
  /** Place in `FrameTable.streams`. */
  readonly stream: number;
  readonly bus: string;
  /** As surveyed: exact where the pace is the usual one. */
  readonly periodUs: number;
  readonly jitterUs: number;
  /** Steady spells in time order. */
  readonly spells: readonly Spell[];
}

/** More spells than any day has modes: an identifier that comes and goes by itself. */
const SPELLS_MOST = 24;

/** Longer than this many periods without a frame is silence, where changes cut periods short and paces say nothing. */
const SILENT_PERIODS = 5;

/** Spells between silences, the pace within them taken as surveyed. */
function spellsBetweenSilences(timeUs: Float64Array, periodUs: number): Spell[] {
  const spells: Spell[] = [];
  let fromRow = 0;
  for (let row = 1; row <= timeUs.length; row++) {
    const last = timeUs[row - 1] as number;
    if (row < timeUs.length && (timeUs[row] as number) - last <= SILENT_PERIODS * periodUs) continue;
    spells.push({ fromUs: timeUs[fromRow] as number, toUs: last, fromRow, toRow: row, periodUs });
    fromRow = row;
  }
  return spells;
}

/** The survey's period where it is the same pace: it is exact. */
const exact = (guessUs: number, periodUs: number): number =>
  Math.abs(guessUs / periodUs - 1) < 0.1 ? periodUs : guessUs;

function* spellsOf(timeUs: Float64Array, periodUs: number, kind: SurveyFrame['timing']['kind']): Steps<Spell[]> {
  if (kind === 'mixed') return spellsBetweenSilences(timeUs, periodUs);
  const { periodsUs, stretches } = yield* findPaces(timeUs, intervals(timeUs));
  if (stretches.length === 0) return spellsBetweenSilences(timeUs, periodUs);
  return stretches.map(({ fromRow, toRow, pace }) => ({
    fromUs: timeUs[fromRow] as number,
    toUs: timeUs[toRow - 1] as number,
    fromRow,
    toRow,
    periodUs: exact(periodsUs[pace] as number, periodUs),
  }));
}

const isSteady = ({ direction, timing }: SurveyFrame): boolean =>
  direction === 'received' && timing.periodMs !== null && timing.burst === undefined && timing.kind !== 'reply';

/** @param rows in the order of the table's streams. O(frames). */
export function* steadyActivity(table: FrameTable, rows: readonly SurveyFrame[]): Steps<Activity[]> {
  const found: Activity[] = [];
  for (const [place, row] of rows.entries()) {
    const stream = table.streams[place];
    if (!stream || !isSteady(row)) continue;
    const periodUs = 1000 * (row.timing.periodMs as number);
    const spells = yield* spellsOf(stream.timeUs, periodUs, row.timing.kind);
    yield;
    if (spells.length > SPELLS_MOST) continue;
    const jitterUs = 1000 * (row.timing.jitterMs ?? 0);
    found.push({ stream: place, bus: row.bus, periodUs, jitterUs, spells });
  }
  return found;
}
