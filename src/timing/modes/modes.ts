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

/** From the first frame of some streams to the last. */
function spanOf(streams: readonly Stream[]): Recorded {
  const heard = streams.filter(({ count }) => count > 0);
  const fromUs = heard.reduce((least, { timeUs }) => Math.min(least, timeUs[0] as number), Infinity);
  const toUs = heard.reduce((most, { timeUs, count }) => Math.max(most, timeUs[count - 1] as number), 0);
  return { fromUs, toUs };
}

/** By bus, what its logger recorded: each of several begins and ends by itself. */
function recordedByBus({ streams, buses, loggers = [] }: FrameTable): (bus: string) => Recorded {
  const others = new Set(loggers.flatMap((logger) => logger.buses));
  const groups = [buses.filter((bus) => !others.has(bus)), ...loggers.map((logger) => logger.buses)];
  const spans = groups.flatMap((group) => {
    const span = spanOf(streams.filter(({ bus }) => group.includes(bus)));
    return group.map((bus) => [bus, span] as const);
  });
  const byBus = new Map(spans);
  return (bus) => byBus.get(bus) as Recorded;
}

/** Frames this close to where a clock began anew: between them lies a pause whose length nobody knows. */
const RESTARTED_WITHIN_S = 0.05;

/** Whether a silence is only where the frames after a clock that began anew were placed. */
const isRestart = ({ files }: FrameTable, { toS }: BusSilence): boolean =>
  files.some(({ clockEvents }) =>
    clockEvents.some(({ kind, atS }) => kind === 'restart' && Math.abs(atS - toS) < RESTARTED_WITHIN_S),
  );

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
  const pauses = silences
    .filter((silence) => isRestart(table, silence) || pauseEvidence(table, found, inMicros(silence)) > SLEPT)
    .map(inMicros);
  yield;
  const activities = found.map((activity) => bridgePauses(activity, pauses));
  const recorded = spanOf(table.streams);
  const turns = findTurns(activities, recorded, recordedByBus(table));
  const stretches = cutAtTurns(activities, turns, recorded);
  const modes = nameModes(stretches, marks);
  return { modes, rows: yield* withModes(table, rows, modes, activities) };
}
