/**
 * Messages longer than a frame as tapes: their bytes in order, each with the frame it came in. A message need not be whole: a capture begins in the middle,
 * a first frame or a flow control is lost. Control bytes as in ISO 15765-2:2016; frames numbered from 1 as in SAE J1939-21.
 */
import { payloadAt, type FrameTable, type Stream } from '../../frames/table.ts';
import { splitJ1939Id } from '../../map/identifiers.ts';
import { isSetAside } from '../../reference/diagnostics/exchanges.ts';
import { controlFrameOf, reassemble, type ControlAt } from '../../reference/diagnostics/transport.ts';
import { frameCell, type Cell } from './cells.ts';
import type { ByteRef } from './tapes.ts';

export interface Message {
  readonly refs: readonly ByteRef[];
  /** False where its beginning is missing: what it answers is not known. */
  readonly begins: boolean;
}

const bytesFrom = (cell: Cell, from: number, most = Infinity): ByteRef[] =>
  Array.from({ length: Math.min(most, cell.value.length - from) }, (_, at) => ({ cell, byte: from + at, mask: 255 }));

const SAMPLE = 200;
const TRANSPORT_SHARE = 0.8;

/** Whether a stream may carry messages at all: nearly all of its frames have a control byte. */
function mayTransport(stream: Stream, at: ControlAt): boolean {
  const tried = Math.min(SAMPLE, stream.count);
  let fitting = 0;
  for (let k = 0; k < tried; k++)
    if (controlFrameOf(payloadAt(stream, Math.floor((k * stream.count) / tried)), at)) fitting++;
  return tried > 0 && fitting >= TRANSPORT_SHARE * tried;
}

const DATA_PGN = 0xeb00;
const SILENCE_MOST_US = 2_000_000;
/** The longest message of four-bit numbers, and different messages of one stream that are looked at. */
const BYTES_MOST = 4095;
const MESSAGES_MOST = 5000;

/** Puts frames together by their numbers; `onto` tells whether a frame goes on with what is open. */
class Gatherer {
  readonly messages: Message[] = [];
  private readonly seen = new Set<string>();
  private open: { refs: ByteRef[]; begins: boolean; left: number; next: number; lastUs: number } | null = null;

  begin(refs: ByteRef[], length: number, next: number, atUs: number): void {
    this.end();
    const own = refs.slice(0, length);
    this.open = { refs: own, begins: true, left: length - own.length, next, lastUs: atUs };
    if (this.open.left === 0) this.end();
  }

  goOn(refs: ByteRef[], number: number, modulus: number, atUs: number): void {
    const goesOn =
      this.open &&
      this.open.refs.length < BYTES_MOST &&
      this.open.next === number &&
      atUs - this.open.lastUs <= SILENCE_MOST_US;
    if (!goesOn) {
      this.end();
      this.open = { refs: [], begins: false, left: Infinity, next: number, lastUs: atUs };
    }
    const open = this.open as NonNullable<typeof this.open>;
    const own = refs.slice(0, open.left);
    open.refs.push(...own);
    open.left -= own.length;
    open.next = (number + 1) % modulus;
    open.lastUs = atUs;
    if (open.left === 0) this.end();
  }

  /** The same message again tells nothing new. */
  end(): void {
    if (this.open && this.open.refs.length > 0) {
      const { refs, begins } = this.open;
      const text = `${begins} ${refs.map(({ cell, byte }) => cell.value[byte]).join()} ${refs.map(({ byte }) => byte).join()}`;
      if (!this.seen.has(text) && this.seen.size < MESSAGES_MOST) {
        this.seen.add(text);
        this.messages.push({ refs, begins });
      }
    }
    this.open = null;
  }
}

function transported(stream: Stream, at: ControlAt): readonly Message[] {
  const gatherer = new Gatherer();
  for (let row = 0; row < stream.count; row++) {
    const payload = payloadAt(stream, row);
    const control = controlFrameOf(payload, at);
    if (!control || control.kind === 'flow-control') continue;
    const atUs = stream.timeUs[row] as number;
    const cell = frameCell(stream, row, at === 0 ? [0] : [0, 1]);
    const refs = bytesFrom(cell, control.from);
    if (control.kind === 'consecutive') gatherer.goOn(refs, control.number, 16, atUs);
    else gatherer.begin(refs, control.length, 1, atUs);
  }
  gatherer.end();
  return gatherer.messages;
}

/** Data frames of SAE J1939-21: a number, then seven bytes. Each message begins with number 1. */
function numbered(stream: Stream): readonly Message[] {
  const gatherer = new Gatherer();
  for (let row = 0; row < stream.count; row++) {
    const number = payloadAt(stream, row)[0] ?? 0;
    const cell = frameCell(stream, row, [0]);
    if (number === 1) gatherer.begin(bytesFrom(cell, 1), Infinity, 2, stream.timeUs[row] as number);
    else gatherer.goOn(bytesFrom(cell, 1), number, 256, stream.timeUs[row] as number);
  }
  gatherer.end();
  return gatherer.messages;
}

/** Frames that look like single ones prove nothing: one must begin or go on with a long message. */
function hasLong(stream: Stream, at: ControlAt): boolean {
  for (let row = 0; row < stream.count; row++) {
    const kind = controlFrameOf(payloadAt(stream, row), at)?.kind;
    if (kind === 'first' || kind === 'consecutive') return true;
  }
  return false;
}

/** Streams of more frames than this are asked for a whole long message: a counter in the first byte looks like its frames. */
const FEW_FRAMES = 5000;

function carries(stream: Stream, at: ControlAt): boolean {
  if (!mayTransport(stream, at)) return false;
  if (isSetAside(stream)) return true;
  if (!hasLong(stream, at)) return false;
  return stream.count <= FEW_FRAMES || reassemble(stream, at).messages.some(({ frames }) => frames > 1);
}

const isNumbered = ({ extended, id }: Stream): boolean => extended && splitJ1939Id(id).pgn === DATA_PGN;

/** Whether a stream carries frames of messages: these have no guards beyond the bus's own. */
export const isTransport = (stream: Stream): boolean => isNumbered(stream) || carries(stream, 0) || carries(stream, 1);

/** Different messages of all streams that carry any. */
export function messagesOf({ streams }: Pick<FrameTable, 'streams'>): readonly Message[] {
  return streams.flatMap((stream) => {
    if (isNumbered(stream)) return numbered(stream);
    return ([0, 1] as const).flatMap((at) => (carries(stream, at) ? transported(stream, at) : []));
  });
}
