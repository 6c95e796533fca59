/** What one capture shows of who is needed: periods and phases, starts after wakings, codes of lost communication, exchanges that look like pairing. */
import type { Span } from '../../../frames/pictures/span.ts';
import type { Steps } from '../../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../../frames/table.ts';
import { formatId } from '../../../kit/units.ts';
import { frameKey } from '../../../map/identifiers.ts';
import type { Survey, SurveyFrame } from '../../../timing/types.ts';
import { keptMode } from '../kept-mode.ts';
import type { FrameKey } from '../types.ts';
import { diagnosticsSeen } from './diagnostics-seen.ts';
import { pairingsOn } from './pairings.ts';
import { phasesOf, type Phase, type PhaseInput } from './phases.ts';
import { startsIn, type Starts } from './starts.ts';
import type { CaptureObservations, FrameSeen, KnownSender, SeenPairing } from './types.ts';

export interface ObserveInput {
  /** What the capture is called: its id in the map, or a title. */
  readonly capture: string;
  readonly survey: Survey;
  readonly senders: readonly KnownSender[];
  /** Bus of the map -> bus of the capture, where they are called otherwise. */
  readonly busMap?: Readonly<Record<string, string | null>>;
}

/** Frames of a bus that were stamped together, from which share on its stamps are those of batches. */
const BATCHED_SHARE = 0.2;
/** Periods of one frame differ by more than this between modes: then only the mode that matters tells its phase. */
const OTHER_PACE = 0.05;

function spansOf({ timing }: SurveyFrame, mode: string | null, survey: Survey): Span[] | null {
  const periods = Object.values(timing.byMode ?? {}).flatMap(({ periodMs }) => (periodMs === null ? [] : [periodMs]));
  if (mode === null || Math.max(...periods) <= (1 + OTHER_PACE) * Math.min(...periods)) return null;
  return survey.modes.filter((span) => span.mode === mode).map(({ fromS, toS }) => ({ fromS, toS }));
}

interface Row extends PhaseInput {
  readonly mode: string | null;
  readonly group: string | null;
}

const streamKey = (bus: string, id: string, extended: boolean): string => frameKey({ bus, id, extended });

function rowsOf(table: FrameTable, { survey, senders, busMap = {} }: ObserveInput): Row[] {
  const called = new Map(Object.entries(busMap).flatMap(([own, other]) => (other === null ? [] : [[other, own]])));
  const groups = new Map(senders.map((sender) => [frameKey(sender), sender.group]));
  const surveyed = new Map(
    survey.frames
      .filter(({ direction }) => direction === 'received')
      .map((row) => [streamKey(row.bus, row.id, row.extended), row]),
  );
  return table.streams.flatMap((stream: Stream): Row[] => {
    const row = surveyed.get(streamKey(stream.bus, formatId(stream.id), stream.extended));
    if (!row || stream.direction !== 'received') return [];
    const key: FrameKey = { bus: called.get(row.bus) ?? row.bus, id: row.id, extended: row.extended };
    const { mode, periodMs } = keptMode(row.timing);
    const spans = spansOf(row, mode, survey);
    return [{ stream, row, key, mode, periodMs, spans, group: groups.get(frameKey(key)) ?? null }];
  });
}

/** How far apart stamps of a bus must be to be told apart, ms. */
function stepOf({ capture: { clock } }: Survey, bus: string): number {
  const batch = clock.batches.find((each) => each.bus === bus && each.share >= BATCHED_SHARE);
  return Math.max(clock.resolutionUs / 1000, (batch?.distanceUs ?? 0) / 1000);
}

const NO_SENDER = { phase: null, why: 'its sender is not known' };
const NO_STAMPS = { phase: null, why: 'the capture has no stamps' };

function* phasesByRow(rows: readonly Row[], survey: Survey): Steps<ReadonlyMap<Row, Phase>> {
  const told = new Map<Row, Phase>();
  for (const group of new Set(rows.flatMap(({ group }) => (group === null ? [] : [group])))) {
    const members = rows.filter((row) => row.group === group);
    const stepMs = Math.max(...members.map(({ row }) => stepOf(survey, row.bus)));
    phasesOf(members, stepMs).forEach((phase, at) => told.set(members[at] as Row, phase));
    yield;
  }
  return told;
}

/** O(frames), a few passes. */
export function* observeNeeds(table: FrameTable, input: ObserveInput): Steps<CaptureObservations> {
  const rows = rowsOf(table, input);
  const starts = startsIn(table, input.survey, rows);
  yield;
  const told = yield* phasesByRow(rows, input.survey);
  const frames: FrameSeen[] = [];
  for (const own of rows) {
    const { phase, why } = table.origin.kind === 'none' ? NO_STAMPS : (told.get(own) ?? NO_SENDER);
    frames.push({
      ...own.key,
      count: own.row.count,
      periodMs: own.periodMs,
      mode: own.mode,
      phase,
      phaseWhy: why,
      starts: starts.of(own.stream),
      network: own.row.network && { kind: own.row.network.kind, why: own.row.network.why },
    });
    yield;
  }
  const busOf = new Map(rows.map(({ row, key }) => [row.bus, key.bus]));
  const named = (bus: string): string => busOf.get(bus) ?? bus;
  const { lostCodes, askedForFaults, unlocks } = diagnosticsSeen(table);
  return {
    capture: input.capture,
    wakings: starts.wakings.map(({ bus, fromS }) => ({ bus: named(bus), fromS })),
    frames,
    lostCodes: lostCodes.map((code) => ({ ...code, bus: named(code.bus) })),
    askedForFaults: askedForFaults.map((key) => ({ ...key, bus: named(key.bus) })),
    unlocks: unlocks.map((unlock) => ({ ...unlock, bus: named(unlock.bus) })),
    pairings: pairingsIn(rows, starts),
  };
}

const pairingsIn = (rows: readonly Row[], { wakings }: Starts): SeenPairing[] =>
  [...new Set(rows.map(({ row }) => row.bus))].flatMap((bus) =>
    pairingsOn(
      rows.filter(({ row }) => row.bus === bus),
      wakings.filter((waking) => waking.bus === bus).map(({ fromS }) => fromS),
    ),
  );

/** Only the exchanges with a secret in them: what a survey can say before fields are known. */
export function* exchangesSeen(
  table: FrameTable,
  survey: Survey,
): Steps<Pick<CaptureObservations, 'pairings' | 'unlocks'>> {
  const rows = rowsOf(table, { capture: '', survey, senders: [] });
  const starts = startsIn(table, survey, rows);
  yield;
  return { pairings: pairingsIn(rows, starts), unlocks: diagnosticsSeen(table).unlocks };
}
