/**
 * What each identifier sends while the vehicle is at rest: the last payload of a calm stretch in which nothing was being
 * done. Stretches lie before, between and after the marks (where there are none, anywhere); the one is taken in which
 * most identifiers speak and fewest fields move. Judged on an even sample of fields and frames.
 */
import type { Mark } from '../actions/types.ts';
import type { FrameFindings } from '../fields/types.ts';
import { lengthAt, type FrameTable, type Stream } from '../frames/table.ts';
import { quantile } from '../kit/statistics/order.ts';
import { formatId } from '../kit/units.ts';
import { candidatesOf, seriesOf } from '../map/proposed-fields.ts';
import { formatPayload } from '../map/raw-values.ts';
import type { RestPayload } from './types.ts';

export interface RestSpan {
  readonly fromS: number;
  readonly toS: number;
}

/** Kept clear of marks: people mark late, and vehicles take a while to settle. */
const BEFORE_MARK_S = 1;
const AFTER_MARK_S = 1.5;
const SHORTEST_S = 1.5;
const WINDOW_S = 4;
/** A field is still where it stays within this share of its range. */
const STILL_SHARE = 0.03;
const FIELDS_JUDGED = 400;
const STRETCHES_JUDGED = 200;

/** Stretches without an action, in order; a long one is cut into windows. */
function calmStretches(durationS: number, marks: readonly Mark[]): RestSpan[] {
  const stretches: RestSpan[] = [];
  let fromS = 0;
  const add = (toS: number): void => {
    for (let atS = fromS; toS - atS >= SHORTEST_S; atS += WINDOW_S) {
      stretches.push({ fromS: atS, toS: Math.min(toS, atS + WINDOW_S) });
    }
  };
  for (const { startS, endS } of [...marks].sort((a, b) => a.startS - b.startS)) {
    add(startS - BEFORE_MARK_S);
    fromS = Math.max(fromS, (endS ?? startS) + AFTER_MARK_S);
  }
  add(durationS);
  const every = Math.ceil(stretches.length / STRETCHES_JUDGED);
  return stretches.filter((_, i) => i % every === 0);
}

/** Rows of a column of stamps within a span: from (included) to (excluded). */
function rowsWithin(timeUs: Float64Array, { fromS, toS }: RestSpan): { from: number; to: number } {
  const firstAtOrAfter = (atUs: number): number => {
    let low = 0;
    let high = timeUs.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((timeUs[middle] as number) < atUs) low = middle + 1;
      else high = middle;
    }
    return low;
  };
  return { from: firstAtOrAfter(fromS * 1e6), to: firstAtOrAfter(toS * 1e6) };
}

interface Judged {
  readonly timeUs: Float64Array;
  readonly value: Float64Array;
  readonly range: number;
}

/** Fields that move at some time, with the range they usually cover. */
function fieldsJudged(table: FrameTable, findings: readonly FrameFindings[]): Judged[] {
  const candidates = candidatesOf(table, findings);
  const every = Math.ceil(candidates.length / FIELDS_JUDGED);
  return candidates
    .filter((_, i) => i % every === 0)
    .map(seriesOf)
    .map(({ timeUs, value }) => {
      const stride = Math.max(1, Math.floor(value.length / 500));
      const sample = value.filter((_, i) => i % stride === 0);
      return { timeUs, value, range: sample.length > 0 ? quantile(sample, 0.98) - quantile(sample, 0.02) : 0 };
    })
    .filter(({ range }) => range > 0);
}

function isStill({ timeUs, value, range }: Judged, span: RestSpan): boolean {
  const { from, to } = rowsWithin(timeUs, span);
  let least = Number.POSITIVE_INFINITY;
  let greatest = Number.NEGATIVE_INFINITY;
  for (let row = from; row < to; row++) {
    const one = value[row] as number;
    if (one < least) least = one;
    if (one > greatest) greatest = one;
  }
  return !(greatest - least > STILL_SHARE * range);
}

const speaks = (stream: Stream, span: RestSpan): boolean => {
  const { from, to } = rowsWithin(stream.timeUs, span);
  return to > from;
};

/** The first stretch nearly as good as the best is taken: later ones may be of another mode, such as charging. */
const NEARLY = 0.93;

/** The calmest stretch with most identifiers in it, or null where nothing is calm for long enough. */
export function findRest(
  table: FrameTable,
  findings: readonly FrameFindings[],
  marks: readonly Mark[],
): RestSpan | null {
  const streams = table.streams.filter(({ direction }) => direction === 'received');
  const fields = fieldsJudged(table, findings);
  const scored = calmStretches(table.endUs / 1e6, marks).map((span) => {
    const speaking = streams.filter((stream) => speaks(stream, span)).length / Math.max(1, streams.length);
    const still = fields.filter((field) => isStill(field, span)).length / Math.max(1, fields.length);
    // Speaking counts double: a sleeping bus is the calmest of all, and of no use.
    return { span, score: speaking * speaking * still };
  });
  const best = Math.max(0, ...scored.map(({ score }) => score));
  return best > 0 ? (scored.find(({ score }) => score >= NEARLY * best)?.span ?? null) : null;
}

/** The last payload of each identifier received within the span. */
export function restPayloads(table: FrameTable, span: RestSpan): RestPayload[] {
  return table.streams.flatMap((stream) => {
    const { from, to } = rowsWithin(stream.timeUs, span);
    if (stream.direction !== 'received' || to <= from) return [];
    const at = (to - 1) * stream.stride;
    const payload = formatPayload(stream.payload.subarray(at, at + lengthAt(stream, to - 1)));
    const { bus, id, extended } = stream;
    return [{ bus, id: formatId(id), extended, payload, fromS: span.fromS, toS: span.toS }];
  });
}
