/** Makes the profile of one capture, or of a span of it: what `compareProfiles` holds against another. Linear in the frames. */
import { trimTable } from '../../frames/pictures/span.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { formatId, MICROS_PER_SECOND } from '../../kit/units.ts';
import { surveySteps } from '../../timing/survey.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { appearancesOf, busWakings, presentSpans, type Waking } from '../../timing/wakings.ts';
import { byteProfiles } from './byte-history.ts';
import { paceOf } from './pace.ts';
import type { BusProfile, ComparisonProfile, IdentifierProfile, Span } from './profile-types.ts';

interface Row {
  readonly stream: Stream;
  readonly frame: SurveyFrame;
}

const place = ({ bus, id, extended, direction }: Stream): string => `${bus}/${formatId(id)}/${extended}/${direction}`;
const placeOf = ({ bus, id, extended, direction }: SurveyFrame): string => `${bus}/${id}/${extended}/${direction}`;

function rowsOf(table: FrameTable, survey: Survey): Row[] {
  const frames = new Map(survey.frames.map((frame) => [placeOf(frame), frame]));
  return table.streams.flatMap((stream) => {
    const frame = frames.get(place(stream));
    return frame && stream.direction === 'received' ? [{ stream, frame }] : [];
  });
}

function errorsOn(table: FrameTable, bus: string, span: Span): BusProfile['errors'] {
  const perSecond = new Uint32Array(Math.max(1, Math.ceil(span.toS - span.fromS)));
  const found = table.errors.filter((errors) => errors.bus === bus);
  let firstS: number | null = null;
  for (const { timeUs } of found) {
    for (const us of timeUs) {
      const second = Math.min(perSecond.length - 1, Math.max(0, Math.floor(us / MICROS_PER_SECOND - span.fromS)));
      perSecond[second] = (perSecond[second] as number) + 1;
      firstS = Math.min(firstS ?? Infinity, us / MICROS_PER_SECOND);
    }
  }
  return { count: found.reduce((sum, { count }) => sum + count, 0), firstS, perSecond };
}

function busProfile(table: FrameTable, survey: Survey, rows: readonly Row[], name: string, span: Span): BusProfile {
  const own = rows.filter(({ stream }) => stream.bus === name);
  const rhythms = own.map(({ stream, frame }) => ({ stream, timing: frame.timing }));
  const gaps = survey.buses.find((bus) => bus.name === name)?.gaps ?? [];
  return {
    name,
    frames: own.reduce((sum, { stream }) => sum + stream.count, 0),
    wakings: table.origin.kind === 'none' ? [] : busWakings(rhythms, gaps),
    errors: errorsOn(table, name, span),
  };
}

function* identifierProfile({ stream, frame }: Row, wakings: readonly Waking[]): Steps<IdentifierProfile> {
  const present = presentSpans(stream, frame.timing);
  return {
    bus: frame.bus,
    id: frame.id,
    extended: frame.extended,
    count: frame.count,
    length: frame.length,
    timing: frame.timing,
    paceMs: paceOf(stream),
    firstS: frame.firstS,
    lastS: frame.lastS,
    present,
    appearances: appearancesOf(stream, wakings),
    group: frame.group,
    groupConfidence: frame.groupConfidence,
    copyOf: frame.copyOf && { bus: frame.copyOf.bus, id: frame.copyOf.id, extended: frame.copyOf.extended },
    bytes: yield* byteProfiles(stream, present),
  };
}

/** The profile where the survey of the same span is there already. O(frames * payload bytes). */
export function* profileSurveyed(whole: FrameTable, survey: Survey, span?: Span): Steps<ComparisonProfile> {
  const table = span ? trimTable(whole, span) : whole;
  const from = { fromS: span?.fromS ?? 0, toS: table.endUs / MICROS_PER_SECOND };
  const rows = rowsOf(table, survey);
  const buses = table.buses.map((name) => busProfile(table, survey, rows, name, from));
  const identifiers: IdentifierProfile[] = [];
  for (const row of rows) {
    const wakings = buses.find(({ name }) => name === row.stream.bus)?.wakings ?? [];
    identifiers.push(yield* identifierProfile(row, wakings));
    yield;
  }
  const sent = table.streams.filter(({ direction }) => direction === 'sent');
  return {
    startS: from.fromS,
    durationS: Math.max(0, from.toS - from.fromS),
    buses,
    identifiers,
    asked: sent.map(({ bus, id, count }) => ({ bus, id: formatId(id), count })),
    stampStepUs: survey.capture.clock.resolutionUs,
  };
}

/** Profile of the whole capture, or of a span of it; times stay seconds from the capture's origin. O(frames). */
export function* comparisonProfile(table: FrameTable, span?: Span): Steps<ComparisonProfile> {
  const survey = yield* surveySteps(table, {}, span);
  return yield* profileSurveyed(table, survey, span);
}
