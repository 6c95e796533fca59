/**
 * Messages of more than eight bytes on a bus of 29-bit identifiers that keeps to SAE J1939-21: announced to all (BAM) or sent over a connection
 * (request to send, clear to send, end of message), and carried seven bytes a frame. Each announcement and data frame is counted.
 */
import { payloadAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { splitJ1939Id } from '../../map/identifiers.ts';

const CONNECTION_PGN = 0xec00;
const DATA_PGN = 0xeb00;

const REQUEST_TO_SEND = 16;
const CLEAR_TO_SEND = 17;
const END_OF_MESSAGE = 19;
const ANNOUNCED_TO_ALL = 32;
const ABORTED = 255;

const BYTES_A_FRAME = 7;
/** Longest time between two frames of one message (T2, T3: 1.25 s). */
const SILENCE_MOST_US = 1_250_000;

export interface LongMessage {
  readonly startUs: number;
  readonly endUs: number;
  readonly bus: string;
  /** Parameter group. */
  readonly pgn: number;
  readonly source: number;
  /** Null for everyone. */
  readonly destination: number | null;
  readonly payload: Uint8Array;
}

export interface LongMessages {
  readonly messages: readonly LongMessage[];
  readonly counts: {
    readonly announced: number;
    readonly connected: number;
    /** Clear to send and end of message. */
    readonly control: number;
    readonly aborted: number;
    readonly data: number;
    /** Messages begun and not ended, and data frames that belong to none. */
    readonly broken: number;
    readonly stray: number;
  };
}

interface Row {
  readonly atUs: number;
  readonly arrival: number;
  readonly frame: Uint8Array;
  readonly isData: boolean;
  readonly source: number;
  readonly destination: number;
}

const EVERYONE = 0xff;

/** Connection and data frames of one bus, in the order of time. */
function rowsOf(streams: readonly Stream[]): Row[] {
  const rows: Row[] = [];
  for (const stream of streams) {
    const { pgn, source, destination } = splitJ1939Id(stream.id);
    for (let index = 0; index < stream.count; index++)
      rows.push({
        atUs: stream.timeUs[index] as number,
        arrival: stream.arrival[index] as number,
        frame: payloadAt(stream, index),
        isData: pgn === DATA_PGN,
        source,
        destination: destination ?? EVERYONE,
      });
  }
  return rows.sort((a, b) => a.atUs - b.atUs || a.arrival - b.arrival);
}

const isLong = ({ extended, id }: Stream): boolean => {
  if (!extended) return false;
  const { pgn } = splitJ1939Id(id);
  return pgn === CONNECTION_PGN || pgn === DATA_PGN;
};

interface Begun {
  readonly startUs: number;
  readonly pgn: number;
  readonly bytes: Uint8Array;
  readonly frames: number;
  /** [frames] which of them came; a connection may send some twice. */
  readonly came: Uint8Array;
  lastUs: number;
}

const key = (source: number, destination: number): number => source * 256 + destination;

function begin({ atUs, frame }: Row): Begun | null {
  const bytes = (frame[1] as number) | ((frame[2] as number) << 8);
  const frames = frame[3] as number;
  if (bytes <= 8 || frames !== Math.ceil(bytes / BYTES_A_FRAME)) return null;
  const pgn = (frame[5] as number) | ((frame[6] as number) << 8) | ((frame[7] as number) << 16);
  return { startUs: atUs, pgn, bytes: new Uint8Array(bytes), frames, came: new Uint8Array(frames), lastUs: atUs };
}

/** Long messages of all buses. */
export function findLongMessages(table: Pick<FrameTable, 'streams'>): LongMessages {
  const messages: LongMessage[] = [];
  const counts = { announced: 0, connected: 0, control: 0, aborted: 0, data: 0, broken: 0, stray: 0 };
  const streams = table.streams.filter(isLong);
  for (const bus of new Set(streams.map((stream) => stream.bus))) {
    const begun = new Map<number, Begun>();
    const endBroken = (at: number): void => {
      if (begun.delete(at)) counts.broken++;
    };
    const takeData = (row: Row): void => {
      const at = key(row.source, row.destination);
      const open = begun.get(at);
      const number = (row.frame[0] as number) - 1;
      if (open && row.atUs - open.lastUs > SILENCE_MOST_US) endBroken(at);
      const goesOn = open && begun.has(at) && number >= 0 && number < open.frames;
      if (!goesOn) {
        counts.stray++;
        return;
      }
      counts.data++;
      open.bytes.set(
        row.frame.subarray(1, 1 + Math.min(BYTES_A_FRAME, open.bytes.length - number * BYTES_A_FRAME)),
        number * BYTES_A_FRAME,
      );
      open.came[number] = 1;
      open.lastUs = row.atUs;
      if (open.came.includes(0)) return;
      begun.delete(at);
      const { startUs, pgn, bytes } = open;
      const destination = row.destination === EVERYONE ? null : row.destination;
      messages.push({ startUs, endUs: row.atUs, bus, pgn, source: row.source, destination, payload: bytes });
    };
    const takeControl = (row: Row): void => {
      const kind = row.frame[0];
      const at = key(row.source, row.destination);
      if (row.frame.length === 8 && (kind === ANNOUNCED_TO_ALL || kind === REQUEST_TO_SEND)) {
        endBroken(at);
        const message = begin(row);
        if (message) begun.set(at, message);
        else counts.broken++;
        counts[kind === ANNOUNCED_TO_ALL ? 'announced' : 'connected']++;
      } else if (kind === ABORTED) {
        counts.aborted++;
        // Either side may give up.
        endBroken(at);
        endBroken(key(row.destination, row.source));
      } else if (kind === CLEAR_TO_SEND || kind === END_OF_MESSAGE) {
        counts.control++;
        const other = begun.get(key(row.destination, row.source));
        if (other) other.lastUs = row.atUs;
      } else counts.stray++;
    };
    for (const row of rowsOf(streams.filter((stream) => stream.bus === bus)))
      (row.isData ? takeData : takeControl)(row);
    counts.broken += begun.size;
  }
  return { messages, counts };
}
