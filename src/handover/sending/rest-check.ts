/**
 * Whether the frames of a capture agree with a span marked at rest: every signal of the map that can tell (`rest-watch.ts`) must say so in the whole span, its
 * value as the span begins included. The first that does not refuses the span, with the instant.
 */
import { lowerBound, upperBound } from '../../frames/pictures/columns.ts';
import { payloadAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { compileFrame } from '../../map/decode.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { streamOfFrame, type BusChoice } from '../decode-plan.ts';
import { REST_TOPICS, restWatches, type RestTopic, type RestWatch } from './rest-watch.ts';
import type { Span } from './rest-spans.ts';

export interface RestWitness {
  readonly topic: RestTopic;
  /** "frame.signal" */
  readonly name: string;
  /** Values looked at. */
  readonly n: number;
}

export interface RestCheck {
  readonly witnesses: readonly RestWitness[];
  /** What nothing in the map could tell: there only the mark says it. */
  readonly unwatched: readonly RestTopic[];
  /** For a person, with the instant; null where nothing speaks against rest. */
  readonly against: string | null;
}

interface Contrary {
  readonly atUs: number;
  readonly words: string;
}

const nameOf = ({ frame, signal }: RestWatch): string => `${frame.name}.${signal.name}`;

function standing({ signal }: RestWatch): string {
  return signal.standing === 'guess' ? ' (a guess of the map: set it right there if it is something else)' : '';
}

/** Rows that tell of the span: the last before it, and all within. */
function rowsOf({ timeUs, count }: Stream, { fromS, toS }: Span): { from: number; to: number } {
  const from = lowerBound(timeUs, fromS * 1e6, 0, count);
  return { from: Math.max(0, from - 1), to: upperBound(timeUs, toS * 1e6, 0, count) };
}

function watchFrame(
  frame: MapFrame,
  watches: readonly RestWatch[],
  stream: Stream,
  span: Span,
): { readonly witnesses: RestWitness[]; readonly contrary: Contrary | null } {
  const compiled = compileFrame(frame);
  const counts = new Map<string, number>();
  const { from, to } = rowsOf(stream, span);
  for (let row = from; row < to; row++) {
    const { signals } = compiled.decode(payloadAt(stream, row));
    for (const watch of watches) {
      const value = signals.find(({ name }) => name === watch.signal.name);
      if (!value || value.invalid !== null) continue;
      counts.set(watch.signal.name, (counts.get(watch.signal.name) ?? 0) + 1);
      const says = watch.against(value);
      if (says === null) continue;
      const atUs = stream.timeUs[row] as number;
      const words = `${nameOf(watch)} ${says} at ${(atUs / 1e6).toFixed(2)} s${standing(watch)}`;
      return { witnesses: [], contrary: { atUs, words } };
    }
  }
  const witnesses = watches
    .map((watch) => ({ topic: watch.topic, name: nameOf(watch), n: counts.get(watch.signal.name) ?? 0 }))
    .filter(({ n }) => n > 0);
  return { witnesses, contrary: null };
}

export function checkRest(table: FrameTable, map: SignalMap, span: Span, choice: BusChoice = {}): RestCheck {
  const found = map.frames.flatMap((frame) => {
    const watches = restWatches(frame);
    const stream = watches.length > 0 ? streamOfFrame(table, map, frame, choice) : undefined;
    return stream ? [watchFrame(frame, watches, stream, span)] : [];
  });
  const contraries = found.flatMap(({ contrary }) => (contrary ? [contrary] : [])).sort((a, b) => a.atUs - b.atUs);
  const witnesses = found.flatMap((each) => each.witnesses);
  const watched = new Set(witnesses.map(({ topic }) => topic));
  return {
    witnesses,
    unwatched: REST_TOPICS.filter((topic) => topic !== 'mode' && !watched.has(topic)),
    against: contraries[0]?.words ?? null,
  };
}
