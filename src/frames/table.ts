/**
 * The frames of one capture, by stream and columnar: what every analysis reads. A stream holds the
 * data frames of one (bus, identifier, direction); its columns are contiguous and in time order.
 * Remote and error frames are counted apart. A table is never changed; the builder makes it.
 */
import type { Problem } from '../kit/outcome.ts';

/** 'sent': the logger itself put it on the bus; never taken for the vehicle's. */
export type Direction = 'received' | 'sent';

export interface StreamKey {
  readonly bus: string;
  /** 0..0x7FF, or 0..0x1FFFFFFF where extended. */
  readonly id: number;
  readonly extended: boolean;
  readonly direction: Direction;
}

export const FD_FORMAT = 1;
export const FD_BIT_RATE_SWITCH = 2;
export const FD_ERROR_STATE = 4;

export interface Stream extends StreamKey {
  /** Place in `FrameTable.streams`. */
  readonly index: number;
  readonly count: number;
  /** [count] microseconds since the table's origin, ascending. */
  readonly timeUs: Float64Array;
  /** [count] rank in the order of the files over all streams; breaks ties of equal stamps. */
  readonly arrival: Uint32Array;
  /** Bytes a row of `payload` takes: the longest length of the stream, at least 1. */
  readonly stride: number;
  /** [count * stride] row-major; bytes beyond a frame's length are 0. */
  readonly payload: Uint8Array;
  /** The most frequent payload length in bytes. */
  readonly length: number;
  /** [count] payload length of each frame, or null where all have `length`. */
  readonly lengths: Uint8Array | null;
  /** [count] FD_FORMAT, FD_BIT_RATE_SWITCH and FD_ERROR_STATE bits, or null where all are classical. */
  readonly fdFlags: Uint8Array | null;
}

interface RemoteFrames extends StreamKey {
  readonly count: number;
}

export interface ErrorFrames {
  readonly bus: string;
  readonly count: number;
  /** [count] microseconds since the origin, ascending. */
  readonly timeUs: Float64Array;
}

export type ClockKind =
  /** Stamps count from 1970. */
  | 'epoch'
  /** Stamps count from some start of the logger's own. */
  | 'relative'
  /** Stamps are times of day without a date. */
  | 'time-of-day'
  /** No stamps at all: frames are numbered 1 us apart and nothing may be said about time. */
  | 'none';

export interface ClockOrigin {
  readonly kind: ClockKind;
  /** Exact decimal seconds of the first frame after time repair, as the file wrote it: "1573220073.369233". */
  readonly text: string;
}

export interface ClockEvent {
  readonly kind: 'jump-forward' | 'jump-back' | 'wrap' | 'restart' | 'lonely-first-row' | 'unit-differs-from-header';
  readonly file: string;
  /** 1-based line or record number. */
  readonly line: number;
  /** Seconds on the capture's clock where it happened, after repair. */
  readonly atS: number;
  /** Size of the jump in seconds; 0 where it has none. */
  readonly byS: number;
  /** What was done about it, for a person. */
  readonly words: string;
}

export interface Reject {
  /** 1-based line or record number. */
  readonly line: number;
  /** The line, cut at 200 characters, unprintable bytes shown as "·". */
  readonly text: string;
  readonly reason: string;
}

export interface FileReport {
  readonly name: string;
  /** Whose frames it holds. */
  readonly buses: readonly string[];
  /** Bytes as given (compressed where it is). */
  readonly bytes: number;
  /** Lower-case hex over the bytes as given. */
  readonly sha256: string;
  /** Which reader took it, such as "log-lines". */
  readonly reader: string;
  /** Why, in words for a person, columns and units included. */
  readonly why: string;
  /** Lines (text) or records (pcap) in all; equals accepted + rejected + passedOver. */
  readonly lines: number;
  /** Lines that became data, remote or error frames. */
  readonly accepted: number;
  readonly rejected: number;
  /** Blank lines, headings, comments, prompts: counted, not complained about. */
  readonly passedOver: number;
  /** The first hundred. */
  readonly rejects: readonly Reject[];
  /** How many were rejected for each reason. */
  readonly rejectReasons: readonly { readonly reason: string; readonly count: number }[];
  /** Frames whose stamp was below the one before on the same bus. */
  readonly outOfOrder: number;
  readonly clockEvents: readonly ClockEvent[];
  /** For columns: what was taken for what; what `--columns` and the column chooser accept back. */
  readonly columns: string | null;
  readonly warnings: readonly Problem[];
}

/** A stretch of one logger's own time, and what is added there to come to the first logger's: `byUs + drift * (own - pivotUs)`. */
export interface ClockPiece {
  /** Microseconds of the logger's own clock, counted from the table's origin; the pieces of a clock follow on each other. */
  readonly fromUs: number;
  readonly byUs: number;
  /** Seconds a second. */
  readonly drift: number;
  readonly pivotUs: number;
}

/** One logger's clock held against that of the capture's first. */
export interface LoggerClock {
  readonly buses: readonly string[];
  readonly files: readonly string[];
  /** `same-clock`: nothing was moved. `aligned`: its frames were moved. `not-aligned`: nothing may be said across. */
  readonly state: 'same-clock' | 'aligned' | 'not-aligned';
  /** What it was ahead by in the middle of what both heard (the last such stretch where it was set meanwhile), seconds; null where that is not known. */
  readonly offsetS: number | null;
  readonly offsetSe: number | null;
  /** The offset lies between, whatever the gateway's delay; null where frames are copied in one direction only. */
  readonly offsetBoundsS: readonly [number, number] | null;
  /** How much faster it runs, parts per million. */
  readonly driftPpm: number | null;
  readonly driftSe: number | null;
  /** Copied frames that tell. */
  readonly n: number;
  /** How its stamps were moved; empty where they were not. Stamps as written are told back by `ownTime`. */
  readonly pieces: readonly ClockPiece[];
  /** For a person, with figures. */
  readonly why: string;
}

export interface FrameTable {
  /** Ordered by bus, base before extended, identifier, received before sent. */
  readonly streams: readonly Stream[];
  readonly buses: readonly string[];
  readonly origin: ClockOrigin;
  /** Microseconds from the origin to the last frame. */
  readonly endUs: number;
  /** Data frames over all streams. */
  readonly frameCount: number;
  readonly remotes: readonly RemoteFrames[];
  readonly errors: readonly ErrorFrames[];
  readonly files: readonly FileReport[];
  /** Clocks of loggers beyond the first, once they were looked at; left out for a table as it was read. */
  readonly loggers?: readonly LoggerClock[];
}

export function findStream(table: FrameTable, key: StreamKey): Stream | undefined {
  return table.streams.find(
    (s) => s.bus === key.bus && s.id === key.id && s.extended === key.extended && s.direction === key.direction,
  );
}

/** A text name for a stream, unique in a table: "can0/0x1F4", "can0/0x1F4x" extended, "can0/0x1F4/sent". */
export function streamName(key: StreamKey): string {
  const id = '0x' + key.id.toString(16).toUpperCase() + (key.extended ? 'x' : '');
  return `${key.bus}/${id}${key.direction === 'sent' ? '/sent' : ''}`;
}

/** Payload length in bytes of one frame. */
export function lengthAt(stream: Stream, row: number): number {
  return stream.lengths ? (stream.lengths[row] as number) : stream.length;
}

/** Payload of one frame, cut at its own length; a view on the stream's. */
export function payloadAt(stream: Stream, row: number): Uint8Array {
  const from = row * stream.stride;
  return stream.payload.subarray(from, from + lengthAt(stream, row));
}
