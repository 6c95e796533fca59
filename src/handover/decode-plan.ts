/**
 * Which streams of a capture a map decodes, and in which order their frames come: the plan that the writers of decoded
 * values share. Only frames received are decoded: what the logger sent itself is not the vehicle's.
 */
import type { FrameTable, Stream } from '../frames/table.ts';
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { compileFrame, type CompiledFrame, type CompiledSignal } from '../map/decode.ts';
import { idNumber } from '../map/identifiers.ts';
import { EPOCH_FROM_S, secondsSince } from '../kit/time-base.ts';
import { codedLimits } from '../map/coding.ts';
import type { MapFrame, MapSignal, SignalMap } from '../map/schema.ts';
import type { TimeWindow } from './merged-frames.ts';

export interface PlannedStream {
  readonly stream: Stream;
  readonly compiled: CompiledFrame;
  /** Column of each of the frame's signals in the wide form. */
  readonly columns: readonly number[];
}

export interface WideColumn {
  /** "inverter_status.motor_speed", with the bus before it where that is needed to tell two apart. */
  readonly name: string;
  readonly unit: string;
  /** Text for texts and named states, else numbers. */
  readonly type: 'number' | 'text';
  /** Bits of the signed integer that holds each of its values, where all of them are whole; else null. */
  readonly whole: 32 | 64 | null;
  readonly signal: CompiledSignal;
  readonly frame: MapFrame;
}

export interface DecodePlan {
  readonly streams: readonly PlannedStream[];
  readonly columns: readonly WideColumn[];
  readonly window: TimeWindow;
  readonly warnings: readonly Problem[];
}

export interface DecodeChoice extends BusChoice {
  /** FRAME.SIGNAL, or the name of a frame or of a signal alone; none: every signal. */
  readonly signals?: readonly string[];
  /** Seconds from the capture's origin, or epoch seconds; both included. */
  readonly fromS?: number;
  readonly toS?: number;
}

export interface BusChoice {
  /** Map bus name -> capture bus name, where they differ. */
  readonly busMap?: Readonly<Record<string, string>>;
}

/** The capture's name for a bus of the map: as told, the same name, or the only bus where there is only one. */
function captureBus(bus: string, map: SignalMap, table: FrameTable, choice: BusChoice): string | null {
  const told = choice.busMap?.[bus];
  if (told !== undefined) return told;
  if (table.buses.includes(bus)) return bus;
  const mapBuses = new Set(map.frames.map((frame) => frame.bus));
  return mapBuses.size === 1 && table.buses.length === 1 ? (table.buses[0] as string) : null;
}

function receivedStream(table: FrameTable, bus: string | null, frame: MapFrame): Stream | undefined {
  const id = idNumber(frame.id);
  return table.streams.find(
    (s) => s.bus === bus && s.id === id && s.extended === frame.extended && s.direction === 'received',
  );
}

const columnType = ({ signal }: CompiledSignal): WideColumn['type'] =>
  signal.coding === 'text' || Object.keys(signal.states).length > 0 ? 'text' : 'number';

const INT32_MOST = 2 ** 31 - 1;

/** Whole scale and offset on a whole coding make whole values; a double holds them exactly up to 2^53. */
function wholeBits({ signal, bits }: CompiledSignal): WideColumn['whole'] {
  const { coding, table, scale, offset } = signal;
  const limits = coding === 'float' ? null : codedLimits(coding, bits);
  if (!limits || (table && table.length > 0) || !Number.isInteger(scale) || !Number.isInteger(offset)) return null;
  const most = Math.max(...[limits.min, limits.max].map((coded) => Math.abs(coded * scale + offset)));
  if (most <= INT32_MOST) return 32;
  return most <= Number.MAX_SAFE_INTEGER ? 64 : null;
}

/** Frames with the signals that were asked for, or the first name that names nothing. */
function chosen(map: SignalMap, names: readonly string[] | undefined): Outcome<MapFrame[]> {
  const frames = map.frames.filter((frame) => frame.signals.length > 0);
  if (!names || names.length === 0) return good(frames);
  const isNamed = (name: string, frame: MapFrame, signal: MapSignal): boolean =>
    [`${frame.name}.${signal.name}`, frame.name, signal.name].includes(name);
  const unknown = names.find((name) => !frames.some((f) => f.signals.some((signal) => isNamed(name, f, signal))));
  if (unknown !== undefined)
    return bad({
      code: 'no-such-signal',
      message: `the map has no signal or frame "${unknown}".`,
      advice: 'Write FRAME.SIGNAL, or the name of a frame or of a signal, as the map has it.',
    });
  return good(
    frames
      .map((frame) => ({
        ...frame,
        signals: frame.signals.filter((signal) => names.some((name) => isNamed(name, frame, signal))),
      }))
      .filter((frame) => frame.signals.length > 0),
  );
}

function windowOf({ fromS, toS }: DecodeChoice, { origin }: FrameTable): TimeWindow {
  const onCapture = (timeS: number): number =>
    Math.abs(timeS) >= EPOCH_FROM_S && origin.kind === 'epoch' ? secondsSince(timeS, origin.text) : timeS;
  // Stamps are whole microseconds, so what was read off one must find it again.
  const us = (timeS: number): number => Math.round(onCapture(timeS) * 1e6);
  return { fromUs: fromS === undefined ? -Infinity : us(fromS), toUs: toS === undefined ? Infinity : us(toS) };
}

/** Two paths of names may read alike ("a.b" + "c", "a" + "b.c"): a column's name is met once. */
function onlyOnce(name: string, taken: Set<string>): string {
  let own = name;
  for (let n = 2; taken.has(own); n++) own = `${name} (${n})`;
  taken.add(own);
  return own;
}

function uniqueNames(frames: readonly MapFrame[]): (frame: MapFrame, signal: string) => string {
  const count = new Map<string, number>();
  for (const { name } of frames) count.set(name, (count.get(name) ?? 0) + 1);
  return (frame, signal) => {
    if (count.get(frame.name) === 1) return `${frame.name}.${signal}`;
    return `${frame.bus}/${frame.id}${frame.extended ? 'x' : ''}/${frame.name}.${signal}`;
  };
}

function missingFrame(frame: MapFrame, bus: string | null, table: FrameTable): Problem {
  return {
    code: bus === null ? 'bus-not-in-capture' : 'frame-not-in-capture',
    message: `${frame.name} (${frame.bus} ${frame.id}) does not occur in the capture.`,
    advice:
      bus === null
        ? `Say which of its buses (${table.buses.join(', ')}) is ${frame.bus}.`
        : 'Nothing to do if the vehicle was in another state.',
  };
}

/** The received stream that a frame of the map is in a capture; undefined where it does not occur there. */
export function streamOfFrame(
  table: FrameTable,
  map: SignalMap,
  frame: MapFrame,
  choice: BusChoice = {},
): Stream | undefined {
  return receivedStream(table, captureBus(frame.bus, map, table, choice), frame);
}

/** Fails where no frame of the map occurs in the capture, or a name asked for is not in the map. */
export function planDecoding(table: FrameTable, map: SignalMap, choice: DecodeChoice): Outcome<DecodePlan> {
  const asked = chosen(map, choice.signals);
  if (!asked.ok) return asked;
  const frames = asked.value;
  const taken = new Set<string>();
  const nameOf = uniqueNames(frames);
  const streams: PlannedStream[] = [];
  const columns: WideColumn[] = [];
  const warnings: Problem[] = [];
  for (const frame of frames) {
    const bus = captureBus(frame.bus, map, table, choice);
    const stream = receivedStream(table, bus, frame);
    if (!stream) {
      warnings.push(missingFrame(frame, bus, table));
      continue;
    }
    const compiled = compileFrame(frame);
    const first = columns.length;
    for (const signal of compiled.signals) {
      const { name, unit } = signal.signal;
      const type = columnType(signal);
      const whole = type === 'number' ? wholeBits(signal) : null;
      columns.push({ name: onlyOnce(nameOf(frame, name), taken), unit, type, whole, signal, frame });
    }
    streams.push({ stream, compiled, columns: compiled.signals.map((_, i) => first + i) });
  }
  if (streams.length > 0) return good({ streams, columns, window: windowOf(choice, table), warnings }, warnings);
  return bad(
    {
      code: 'nothing-to-decode',
      message: frames.length === 0 ? 'the map names no signals.' : 'no frame of the map occurs in the capture.',
      advice: frames.length === 0 ? 'Name signals first.' : 'Check that map and capture are of the same part and bus.',
    },
    ...warnings,
  );
}
