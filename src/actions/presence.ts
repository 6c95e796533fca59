/**
 * When frames begin to be sent and when they fall silent: a pause much longer than those that they make as a rule. Frames of one sender that do so together
 * are one: what wakes is a module.
 */
import type { FrameTable, Stream } from '../frames/table.ts';
import { quantile } from '../kit/statistics/order.ts';
import { formatId } from '../kit/units.ts';

/** A pause is no silence below this, nor below so many of the longer usual intervals. */
const SILENT_S = 0.5;
const SILENT_INTERVALS = 5;
/** Fewer frames show no usual interval. */
const FRAMES_LEAST = 20;
/** Frames of one sender begin, and end, within so much of each other. */
const TOGETHER_S = 1.2;
/** More pauses a minute are how it sends. */
const PAUSES_A_MINUTE = 6;

/** A vehicle does not fall asleep and wake within so much: where nothing at all came for less, the recorder missed it. */
const ASLEEP_S = 3;
const CELL_US = 0.1e6;

export interface FrameName {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

/** Who sends a frame: any text; null where that is not known. */
export type SenderOf = (frame: FrameName) => string | null;

interface Turn {
  /** Of the first frame seen, or of the last. */
  readonly atS: number;
  readonly isSending: boolean;
}

export interface Presence {
  readonly frames: readonly FrameName[];
  readonly changes: readonly Turn[];
  /** [changes] index among the frames of that which was seen first, or last. */
  readonly which: readonly number[];
}

interface Turning {
  readonly turns: readonly Turn[];
  /** One of the longer usual intervals: the first frame comes as much later, the last one as much before, as its sender does so. */
  readonly intervalS: number;
}

/** Whether a pause is one in which the recorder missed everything. */
type IsMissed = (fromUs: number, toUs: number) => boolean;

/** Cost: one pass over the stamps. */
function missedIn({ streams, endUs }: FrameTable): IsMissed {
  const isHeard = new Uint8Array(Math.floor(endUs / CELL_US) + 2);
  for (const { timeUs, count } of streams)
    for (let k = 0; k < count; k++) isHeard[Math.floor((timeUs[k] as number) / CELL_US)] = 1;
  return (fromUs, toUs) => {
    if (toUs - fromUs >= ASLEEP_S * 1e6) return false;
    return !isHeard.subarray(Math.floor(fromUs / CELL_US) + 1, Math.floor(toUs / CELL_US)).includes(1);
  };
}

interface Pauses {
  /** [count - 1] microseconds from each frame to the next. */
  readonly gaps: Float64Array;
  readonly intervalS: number;
  /** Longer ones are silences. */
  readonly leastUs: number;
}

function pausesOf({ timeUs, count }: Stream): Pauses | null {
  if (count < FRAMES_LEAST) return null;
  const gaps = Float64Array.from({ length: count - 1 }, (_, k) => (timeUs[k + 1] as number) - (timeUs[k] as number));
  const intervalS = quantile(gaps, 0.95) / 1e6;
  return { gaps, intervalS, leastUs: 1e6 * Math.max(SILENT_S, SILENT_INTERVALS * intervalS) };
}

/** Rows that came behind a silence, ascending; the first one among them where the capture heard others for as long. */
export function rowsBehindSilence(stream: Stream): readonly number[] {
  const pauses = pausesOf(stream);
  if (!pauses) return [];
  const { gaps, leastUs } = pauses;
  const behind = [...gaps.keys()].filter((row) => (gaps[row] as number) > leastUs).map((row) => row + 1);
  return (stream.timeUs[0] as number) > leastUs ? [0, ...behind] : behind;
}

/** Beginnings and ends of sending, the capture's own first and last moments apart. */
function turnsOf(stream: Stream, endUs: number, isMissed: IsMissed): Turning {
  const pauses = pausesOf(stream);
  if (!pauses) return { turns: [], intervalS: 0 };
  const { timeUs, count } = stream;
  const { gaps, intervalS, leastUs } = pauses;
  const turns: Turn[] = [];
  const add = (us: number, isSending: boolean): void => void turns.push({ atS: us / 1e6, isSending });
  if ((timeUs[0] as number) > leastUs) add(timeUs[0] as number, true);
  gaps.forEach((gap, k) => {
    if (gap <= leastUs || isMissed(timeUs[k] as number, timeUs[k + 1] as number)) return;
    add(timeUs[k] as number, false);
    add(timeUs[k + 1] as number, true);
  });
  if (endUs - (timeUs[count - 1] as number) > leastUs) add(timeUs[count - 1] as number, false);
  return { turns: turns.length <= Math.max(6, (PAUSES_A_MINUTE * endUs) / 60e6) ? turns : [], intervalS };
}

interface Member extends Turning {
  readonly frame: FrameName;
  readonly sender: string | null;
}

const isTogether = (a: Member, b: Member): boolean =>
  a.turns.length === b.turns.length &&
  a.turns.every(({ atS, isSending }, k) => {
    const other = b.turns[k] as Turn;
    const isNear = Math.abs(atS - other.atS) <= TOGETHER_S + Math.max(a.intervalS, b.intervalS);
    return isSending === other.isSending && isNear;
  });

function joined(members: readonly Member[]): Presence {
  const [first] = members as readonly [Member, ...Member[]];
  const turns = first.turns.map(({ isSending }, k) => {
    const times = members.map((member) => (member.turns[k] as Turn).atS);
    const atS = isSending ? Math.min(...times) : Math.max(...times);
    return { atS, isSending, which: times.indexOf(atS) };
  });
  return { frames: members.map(({ frame }) => frame), changes: turns, which: turns.map(({ which }) => which) };
}

/** Frames that are not sent all the time, those of one sender together. */
export function presences(table: FrameTable, senderOf: SenderOf): Presence[] {
  const groups: Member[][] = [];
  const isMissed = missedIn(table);
  for (const stream of table.streams.filter(({ direction }) => direction === 'received')) {
    const turning = turnsOf(stream, table.endUs, isMissed);
    if (turning.turns.length === 0) continue;
    const frame = { bus: stream.bus, id: formatId(stream.id), extended: stream.extended };
    const member: Member = { frame, sender: senderOf(frame), ...turning };
    const group = groups.find(
      ([first]) => first && member.sender !== null && first.sender === member.sender && isTogether(first, member),
    );
    if (group) group.push(member);
    else groups.push([member]);
  }
  return groups.map(joined);
}
