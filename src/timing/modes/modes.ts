/**
 * The vehicle's modes in a capture, and each identifier's timing in them. What identifiers do together cuts the capture (`changes.ts`), marks
 * name the pieces (`names.ts`); a silence in which the logger heard nothing cuts nothing (`pauses.ts`).
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { ClockPause } from '../clock/losses.ts';
import type { SurveyFrame } from '../types.ts';
import { steadyActivity, type Activity } from './activity.ts';
import { timingByMode } from './by-mode.ts';
import { findTurns, type Recorded } from './changes.ts';
import { cutAtTurns } from './cut.ts';
import { nameModes } from './names.ts';
import { bridgePauses, pauseEvidence, type Silence } from './pauses.ts';
import type { ModeMark, ModeSpan } from './types.ts';

/** A silence of a whole bus, and who fell silent by the counters across it. */
export type BusSilence = Pick<ClockPause, 'bus' | 'fromS' | 'toS' | 'who'>;

export interface Modes {
  readonly modes: readonly ModeSpan[];
  /** The survey's rows, their timing told by mode where the capture has more than one. */
  readonly rows: readonly SurveyFrame[];
}

const inMicros = ({ bus, fromS, toS, who }: BusSilence): Silence => ({
  bus,
  fromUs: fromS * MICROS_PER_SECOND,
  toUs: toS * MICROS_PER_SECOND,
  who,
});

/** Below this, nats, the vehicle slept. Where nothing tells who fell silent, nothing is claimed to have slept. */
const SLEPT = -2;

/** From the first frame to the last. */
function recordedSpan(table: FrameTable): Recorded {
  const streams = table.streams.filter(({ count }) => count > 0);
  const fromUs = streams.reduce((least, { timeUs }) => Math.min(least, timeUs[0] as number), Infinity);
  const toUs = streams.reduce((most, { timeUs, count }) => Math.max(most, timeUs[count - 1] as number), 0);
  return { fromUs, toUs };
}

function* withModes(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  modes: readonly ModeSpan[],
  activities: readonly Activity[],
): Steps<SurveyFrame[]> {
  if (new Set(modes.map(({ mode }) => mode)).size < 2) return [...rows];
  const known = new Map(activities.map((activity) => [activity.stream, activity]));
  const out: SurveyFrame[] = [];
  for (const [place, row] of rows.entries()) {
    const paces = known.get(place)?.spells.map(({ periodUs }) => periodUs) ?? [1];
    const isOnePace = Math.max(...paces) < 1.05 * Math.min(...paces);
    const byMode = yield* timingByMode(table.streams[place] as Stream, row.timing, modes, isOnePace);
    out.push({ ...row, timing: { ...row.timing, byMode } });
    yield;
  }
  return out;
}

/**
 * @param rows in the order of the table's streams
 * @param silences of whole buses
 * @param marks on the capture's clock
 * Cost: O(frames), a pass or two.
 */
export function* findModes(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  silences: readonly BusSilence[],
  marks: readonly ModeMark[],
): Steps<Modes> {
  if (table.frameCount === 0 || table.origin.kind === 'none') return { modes: [], rows };
  const found = yield* steadyActivity(table, rows);
  const pauses = silences.map(inMicros).filter((silence) => pauseEvidence(table, found, silence) > SLEPT);
  yield;
  const activities = found.map((activity) => bridgePauses(activity, pauses));
  const recorded = recordedSpan(table);
  const stretches = cutAtTurns(activities, findTurns(activities, recorded), recorded);
  const modes = nameModes(stretches, marks);
  return { modes, rows: yield* withModes(table, rows, modes, activities) };
}
