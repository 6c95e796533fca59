/** Holds a `FrameTable` against everything its type promises; run in tests on every table that is made. */
import { compareKeys } from './builder.ts';
import type { ErrorFrames, FileReport, FrameTable, Stream } from './table.ts';
import { lengthAt, streamName } from './table.ts';

/** Every broken promise in words; empty for a sound table. */
export function checkTable(table: FrameTable): string[] {
  const faults = [
    ...table.streams.flatMap((stream, place) => checkStream(stream, place, table)),
    ...table.errors.flatMap((errors) => checkErrors(errors, table)),
    ...table.files.flatMap(checkFile),
    ...checkOrder(table),
    ...checkArrivals(table),
    ...checkStart(table),
  ];
  const frames = table.streams.reduce((sum, stream) => sum + stream.count, 0);
  if (frames !== table.frameCount) faults.push(`frameCount ${table.frameCount}, streams hold ${frames}`);
  return faults;
}

function checkStream(stream: Stream, place: number, table: FrameTable): string[] {
  const faults: string[] = [];
  const fault = (holds: boolean, words: string) => {
    if (!holds) faults.push(`${streamName(stream)}: ${words}`);
  };
  const { count, timeUs, arrival, stride, payload, lengths, fdFlags } = stream;
  fault(stream.index === place, `index ${stream.index} at place ${place}`);
  fault(count > 0, 'no frames');
  fault(table.buses.includes(stream.bus), `unknown bus ${stream.bus}`);
  fault(Number.isInteger(stream.id) && stream.id >= 0, 'identifier is no whole number');
  fault(stream.id <= (stream.extended ? 0x1fffffff : 0x7ff), 'identifier out of range');
  fault(timeUs.length === count && arrival.length === count, 'column lengths differ from the count');
  fault(stride >= 1 && stride <= 64 && payload.length === count * stride, 'payload is not count * stride bytes');
  fault(lengths === null || lengths.length === count, 'lengths differ from the count');
  fault(lengths === null || lengths.some((length) => length !== stream.length), 'lengths all equal but kept');
  fault(fdFlags === null || fdFlags.length === count, 'flags differ from the count');
  fault(fdFlags === null || fdFlags.some((flags) => flags !== 0), 'flags all zero but kept');
  fault(isAscending(timeUs, arrival), 'instants or arrivals of equal instants go back');
  fault(timeUs.every(Number.isFinite), 'an instant is no number');
  fault(count === 0 || ((timeUs[0] ?? 0) >= 0 && (timeUs[count - 1] ?? 0) <= table.endUs), 'instants beyond the table');
  fault(tailsAreZero(stream), 'bytes beyond a length are not 0');
  fault(longestLength(stream) === stride || (stride === 1 && longestLength(stream) === 0), 'stride is not the longest');
  return faults;
}

function isAscending(timeUs: Float64Array, arrival: Uint32Array): boolean {
  return timeUs.every((value, row) => {
    if (row === 0) return true;
    const before = timeUs[row - 1] as number;
    return value > before || (value === before && (arrival[row] as number) > (arrival[row - 1] as number));
  });
}

function tailsAreZero(stream: Stream): boolean {
  for (let row = 0; row < stream.count; row++) {
    for (let byte = lengthAt(stream, row); byte < stream.stride; byte++) {
      if (stream.payload[row * stream.stride + byte] !== 0) return false;
    }
  }
  return true;
}

function longestLength(stream: Stream): number {
  return stream.lengths ? stream.lengths.reduce((a, b) => Math.max(a, b), 0) : stream.length;
}

function checkErrors({ bus, count, timeUs }: ErrorFrames, table: FrameTable): string[] {
  const sound =
    timeUs.length === count &&
    timeUs.every((value, i) => value >= (i > 0 ? (timeUs[i - 1] as number) : 0) && value <= table.endUs);
  return sound ? [] : [`error frames of ${bus}: count or instants are wrong`];
}

/** lines = accepted + rejected + passedOver, and rejects agree with their counts. */
function checkFile(file: FileReport): string[] {
  const faults: string[] = [];
  if (file.lines !== file.accepted + file.rejected + file.passedOver) {
    const sum = `${file.accepted} + ${file.rejected} + ${file.passedOver}`;
    faults.push(`${file.name}: ${file.lines} lines are not ${sum}`);
  }
  const reasons = file.rejectReasons.reduce((total, { count }) => total + count, 0);
  if (reasons !== file.rejected) faults.push(`${file.name}: reasons cover ${reasons} of ${file.rejected} rejects`);
  if (file.rejects.length !== Math.min(100, file.rejected))
    faults.push(`${file.name}: ${file.rejects.length} rejects kept`);
  if (!/^[0-9a-f]{64}$/.test(file.sha256)) faults.push(`${file.name}: digest is not 64 hex digits`);
  return faults;
}

function checkOrder(table: FrameTable): string[] {
  return table.streams.flatMap((stream, i) => {
    const before = table.streams[i - 1];
    return before && compareKeys(before, stream) >= 0 ? [`${streamName(stream)}: out of order or twice`] : [];
  });
}

/** Every arrival rank at most once, over all streams. */
function checkArrivals(table: FrameTable): string[] {
  const most = table.streams.reduce((m, s) => s.arrival.reduce((a, b) => Math.max(a, b), m), -1);
  const seen = new Uint8Array(most + 1);
  for (const { arrival } of table.streams) for (const rank of arrival) seen[rank]!++;
  return seen.some((times) => times > 1) ? ['an arrival rank is used twice'] : [];
}

function checkStart(table: FrameTable): string[] {
  const starts = [...table.streams, ...table.errors].map(({ timeUs }) => timeUs[0] as number);
  const first = starts.reduce((a, b) => Math.min(a, b), Infinity);
  return starts.length > 0 && first !== 0 ? [`the first frame is at ${first} us, not at the origin`] : [];
}
