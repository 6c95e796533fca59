/**
 * A part of a capture for sending: the frames that may go out, within one span marked at rest, as log lines or pcapng, once or in repetitions. What the
 * logger sent itself, what the part sends, and what nobody released is in no such file.
 */
import { lowerBound, upperBound } from '../../frames/pictures/columns.ts';
import { payloadAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { ByteWriter } from '../../frames/writers/byte-writer.ts';
import type { CaptureWriter } from '../../frames/writers/frame.ts';
import { logLinesWriter } from '../../frames/writers/log-lines.ts';
import { pcapngWriter } from '../../frames/writers/pcapng.ts';
import { frameOf, optionsOf } from '../../frames/writers/table.ts';
import { formatPayload } from '../../map/raw-values.ts';
import type { SignalMap } from '../../map/schema.ts';
import { streamOfFrame, type BusChoice } from '../decode-plan.ts';
import { MergedFrames, type TimeWindow } from '../merged-frames.ts';
import type { GoingFrame } from './choice.ts';
import type { MarkedPayload } from './marked-rest.ts';
import { compileRecount } from './recount.ts';
import type { Span } from './rest-spans.ts';

/** A frame with what the capture has of it. */
interface InSpan {
  readonly stream: Stream;
  /** Within the span. */
  readonly count: number;
}

export type ExcerptFrame = GoingFrame & InSpan;

export const windowOf = ({ fromS, toS }: Span): TimeWindow => ({
  fromUs: Math.round(fromS * 1e6),
  toUs: Math.round(toS * 1e6),
});

/** Frames that occur in the span, and those that do not. */
export function framesInSpan<T extends Pick<GoingFrame, 'frame'>>(
  table: FrameTable,
  map: SignalMap,
  frames: readonly T[],
  span: Span,
  choice: BusChoice = {},
): { readonly found: readonly (T & InSpan)[]; readonly absent: readonly T[] } {
  const { fromUs, toUs } = windowOf(span);
  const found: (T & InSpan)[] = [];
  const absent: T[] = [];
  for (const each of frames) {
    const stream = streamOfFrame(table, map, each.frame, choice);
    const count = stream
      ? upperBound(stream.timeUs, toUs, 0, stream.count) - lowerBound(stream.timeUs, fromUs, 0, stream.count)
      : 0;
    if (stream && count > 0) found.push({ ...each, stream, count });
    else absent.push(each);
  }
  return { found, absent };
}

/** The last payload of each frame within the span, if it is as long as the map says. */
export function lastPayloads(frames: readonly Pick<ExcerptFrame, 'frame' | 'stream'>[], span: Span): MarkedPayload[] {
  const { toUs } = windowOf(span);
  return frames.flatMap(({ frame, stream }) => {
    const payload = payloadAt(stream, upperBound(stream.timeUs, toUs, 0, stream.count) - 1);
    const { bus, id, extended } = frame;
    return payload.length === frame.length
      ? [{ bus, id, extended, payload: formatPayload(payload), fromS: span.fromS, toS: span.toS }]
      : [];
  });
}

export interface ExcerptOptions {
  readonly as: 'log' | 'pcapng';
  /** How often the span is written, one after the other. */
  readonly loops: number;
  /** Counters run on, checksums are made anew; else all bytes as recorded. */
  readonly recount: boolean;
  /** Kept in the file where its format has room for it. */
  readonly comments: readonly string[];
}

export interface WrittenExcerpt {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly frames: number;
  /** Frames left out as their length or page is none that the map's rules can guard. */
  readonly unguarded: number;
}

export const EXCERPT_FRAMES_MOST = 5_000_000;

function writerFor(table: FrameTable, { as, comments }: ExcerptOptions): CaptureWriter {
  const options = { ...optionsOf(table), directed: false, comments };
  return as === 'log' ? logLinesWriter(options) : pcapngWriter(options);
}

/** @param frames none of them from the logger; at most EXCERPT_FRAMES_MOST written in all, which the caller has seen to */
export function writeExcerpt(
  table: FrameTable,
  frames: readonly ExcerptFrame[],
  span: Span,
  options: ExcerptOptions,
): WrittenExcerpt {
  const window = windowOf(span);
  const writer = writerFor(table, options);
  const out = new ByteWriter(64 * frames.reduce((sum, { count }) => sum + count, 0));
  const recounts = frames.map(({ frame }) => (options.recount ? compileRecount(frame) : null));
  const streams = frames.map(({ stream }) => stream);
  let [written, unguarded] = [0, 0];
  writer.head(out);
  for (let loop = 0; loop < options.loops; loop++) {
    const laterUs = loop * (window.toUs - window.fromUs);
    new MergedFrames(streams, window).take(Infinity, (index, row) => {
      const stream = streams[index] as Stream;
      const payload = payloadAt(stream, row).slice();
      if (recounts[index]?.(payload) === false) {
        unguarded++;
        return;
      }
      writer.frame(out, (stream.timeUs[row] as number) + laterUs, frameOf(table.buses, stream, row, payload));
      written++;
    });
  }
  return { bytes: out.finish(), frames: written, unguarded };
}
