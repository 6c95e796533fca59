/**
 * What differs between two captures: identifiers only in one, changed periods, payload bytes that stopped or began to
 * move. With a module unplugged in the second this gives what it sent and what reacts to its absence.
 */
import type { FrameTable, Stream } from '../frames/table.ts';
import type { Problem } from '../kit/outcome.ts';
import { formatId } from '../kit/units.ts';
import { surveyTable } from '../timing/survey.ts';
import type { Survey, SurveyFrame } from '../timing/types.ts';
import { identifiersByBus, matchBuses } from './buses.ts';
import { compareBytes, type ByteChange } from './compare-bytes.ts';
import { FAR_PERIOD_SHARE, PERIODS_NEEDED } from './thresholds.ts';

export interface ComparedFrame {
  /** Of the capture that has it; of the first where both do. */
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export interface Comparison {
  /** Bus of the first -> bus of the second, matched by their identifiers. */
  readonly buses: Readonly<Record<string, string | null>>;
  readonly onlyInA: readonly (ComparedFrame & { readonly count: number; readonly expected: number | null })[];
  readonly onlyInB: readonly (ComparedFrame & { readonly count: number; readonly expected: number | null })[];
  readonly timingChanged: readonly (ComparedFrame & { readonly periodMsA: number; readonly periodMsB: number })[];
  readonly payloadChanged: readonly (ComparedFrame & { readonly bytes: readonly number[]; readonly how: ByteChange })[];
  /** Error frames a second on each bus, where either has any. */
  readonly errors: readonly { readonly bus: string; readonly perSecondA: number; readonly perSecondB: number }[];
  readonly warnings: readonly Problem[];
}

export interface CompareOptions {
  /** Bus of the first -> bus of the second. */
  readonly busMap?: Readonly<Record<string, string>>;
}

const keyOf = ({ bus, id, extended }: Pick<Stream, 'bus' | 'id' | 'extended'>): string =>
  `${bus}/${id}${extended ? 'x' : ''}`;
const received = (table: FrameTable): Stream[] => table.streams.filter(({ direction }) => direction === 'received');

/** How many frames the other capture would hold at the same rate; null for a single frame. */
function expectedIn(stream: Stream, other: FrameTable): number | null {
  const spanUs = (stream.timeUs[stream.count - 1] as number) - (stream.timeUs[0] as number);
  return spanUs > 0 ? Number((((stream.count - 1) / spanUs) * other.endUs).toPrecision(3)) : null;
}

const listed = (stream: Stream, other: FrameTable) => ({
  bus: stream.bus,
  id: formatId(stream.id),
  extended: stream.extended,
  count: stream.count,
  expected: expectedIn(stream, other),
});

function surveyedFrame(survey: Survey, { bus, id, extended }: Stream): SurveyFrame | undefined {
  return survey.frames.find(
    (f) => f.bus === bus && f.id === formatId(id) && f.extended === extended && f.direction === 'received',
  );
}

/** Null where either has no steady period or too few frames, and where they agree. */
function changedPeriod(a: SurveyFrame | undefined, b: SurveyFrame | undefined) {
  const [periodMsA, periodMsB] = [a?.timing.periodMs ?? null, b?.timing.periodMs ?? null];
  if (!a || !b || periodMsA === null || periodMsB === null) return null;
  if (Math.min(a.count, b.count) <= PERIODS_NEEDED) return null;
  const spread = Math.max(a.timing.jitterMs ?? 0, b.timing.jitterMs ?? 0) / Math.sqrt(Math.min(a.count, b.count));
  const allowed = FAR_PERIOD_SHARE * Math.max(periodMsA, periodMsB) + 3 * spread;
  return Math.abs(periodMsA - periodMsB) > allowed ? { periodMsA, periodMsB } : null;
}

function errorRates(a: FrameTable, b: FrameTable, buses: ReadonlyMap<string, string | null>): Comparison['errors'] {
  const rate = (table: FrameTable, bus: string | null): number => {
    const count = table.errors.filter((errors) => errors.bus === bus).reduce((sum, errors) => sum + errors.count, 0);
    return table.endUs > 0 ? count / (table.endUs / 1e6) : 0;
  };
  return [...buses]
    .map(([bus, other]) => ({ bus, perSecondA: rate(a, bus), perSecondB: rate(b, other) }))
    .filter(({ perSecondA, perSecondB }) => perSecondA > 0 || perSecondB > 0);
}

function lengthWarnings(a: FrameTable, b: FrameTable): Problem[] {
  const [longer, shorter] = a.endUs >= b.endUs ? [a, b] : [b, a];
  if (shorter.endUs * 5 >= longer.endUs) return [];
  const times = Math.round(longer.endUs / shorter.endUs);
  return [
    {
      code: 'captures-of-unequal-length',
      message:
        shorter.endUs > 0
          ? `one capture is ${times} times as long as the other.`
          : 'one capture is a moment only, the other has a duration.',
      advice: 'Rare frames may be missing from the shorter one for that reason alone: see `expected`.',
    },
  ];
}

/** Linear in the frames of both. */
export function compareTables(a: FrameTable, b: FrameTable, options: CompareOptions = {}): Comparison {
  const buses = matchBuses(identifiersByBus(a), identifiersByBus(b), options.busMap);
  const inB = new Map(received(b).map((stream) => [keyOf(stream), stream]));
  const [surveyA, surveyB] = [surveyTable(a, {}), surveyTable(b, {})];
  const pairs: (readonly [Stream, Stream])[] = [];
  const onlyInA: Stream[] = [];
  for (const stream of received(a)) {
    const key = keyOf({ ...stream, bus: buses.get(stream.bus) ?? '' });
    const partner = inB.get(key);
    if (partner) pairs.push([stream, partner]);
    else onlyInA.push(stream);
    inB.delete(key);
  }
  const identity = (stream: Stream): ComparedFrame => ({
    bus: stream.bus,
    id: formatId(stream.id),
    extended: stream.extended,
  });
  return {
    buses: Object.fromEntries(buses),
    onlyInA: onlyInA.map((stream) => listed(stream, b)),
    onlyInB: [...inB.values()].map((stream) => listed(stream, a)),
    timingChanged: pairs.flatMap(([x, y]) => {
      const changed = changedPeriod(surveyedFrame(surveyA, x), surveyedFrame(surveyB, y));
      return changed ? [{ ...identity(x), ...changed }] : [];
    }),
    payloadChanged: pairs.flatMap(([x, y]) => compareBytes(x, y).map((change) => ({ ...identity(x), ...change }))),
    errors: errorRates(a, b, buses),
    warnings: lengthWarnings(a, b),
  };
}
