/**
 * Decoded values as text: CSV and JSON lines, long (a row a value) or wide (a row a frame). A writer turns one frame into
 * the text of its rows and counts them.
 */
import { lengthAt, type Stream } from '../frames/table.ts';
import type { CompiledSignal } from '../map/decode.ts';
import { writtenRaw } from '../map/raw-values.ts';
import { csvText, numberText, timeText } from './csv-text.ts';
import type { DecodePlan, PlannedStream } from './decode-plan.ts';

export interface TextWriter {
  /** Before the first row; empty where there is none. */
  readonly head: string;
  /** The rows of one frame of stream `index` in the plan, appended to `into`. @returns rows added. */
  rows(index: number, row: number, into: string[]): number;
}

export interface SignalValue {
  /** NaN where there is none. */
  readonly physical: number;
  readonly text: string | null;
  readonly raw: number | string;
  readonly invalid: string | null;
}

export function valueAt(compiled: CompiledSignal, stream: Stream, offset: number): SignalValue {
  const raw = compiled.raw(stream.payload, offset);
  const invalid = compiled.invalidOf(raw);
  return {
    physical: invalid === null ? compiled.physicalOf(raw) : Number.NaN,
    text: compiled.stateOf(raw) ?? compiled.textOf(raw),
    raw: writtenRaw(raw),
    invalid,
  };
}

/** Calls back for each signal that is present in a frame. */
export function eachSignal(
  { stream, compiled }: PlannedStream,
  row: number,
  visit: (signal: number, offset: number) => void,
): void {
  const offset = row * stream.stride;
  const length = lengthAt(stream, row);
  for (let i = 0; i < compiled.signals.length; i++) {
    if ((compiled.signals[i] as CompiledSignal).present(stream.payload, offset, length)) visit(i, offset);
  }
}

/** Product and sum each round in their last bit; where the offset is large, so is what that leaves. */
export const physicalText = ({ signal }: CompiledSignal, value: number): string =>
  numberText(value, (Math.abs(value) + Math.abs(signal.offset)) * 2 ** -51);

const finite = (compiled: CompiledSignal, value: number): string =>
  Number.isFinite(value) ? physicalText(compiled, value) : '';

/** What a wide cell shows: a text or a state's name where the column is text, else the number; null where there is none. */
export function wideValue(
  compiled: CompiledSignal,
  type: 'number' | 'text',
  value: SignalValue,
): number | string | null {
  if (type === 'number') return Number.isFinite(value.physical) ? value.physical : null;
  if (value.text !== null) return value.text;
  if (compiled.signal.coding === 'text' || value.invalid !== null) return null;
  return Number.isFinite(value.physical) ? physicalText(compiled, value.physical) : null;
}

export function csvLong(plan: DecodePlan): TextWriter {
  const starts = plan.streams.map(({ compiled: { frame, signals } }) => {
    const front = [frame.bus, frame.id, frame.name].map(csvText).join(',');
    return signals.map(({ signal }) => ({
      front: `,${front},${csvText(signal.name)},`,
      unit: `,${csvText(signal.unit)},`,
    }));
  });
  return {
    head: 'time_s,bus,id,frame,signal,value,unit,text,raw,invalid\r\n',
    rows(index, row, into) {
      const planned = plan.streams[index] as PlannedStream;
      const time = timeText(planned.stream.timeUs[row] as number);
      const before = into.length;
      eachSignal(planned, row, (i, offset) => {
        const { front, unit } = starts[index]?.[i] as { front: string; unit: string };
        const compiled = planned.compiled.signals[i] as CompiledSignal;
        const value = valueAt(compiled, planned.stream, offset);
        const tail = `${csvText(value.text ?? '')},${value.raw},${csvText(value.invalid ?? '')}`;
        into.push(`${time}${front}${finite(compiled, value.physical)}${unit}${tail}\r\n`);
      });
      return into.length - before;
    },
  };
}

export function csvWide(plan: DecodePlan): TextWriter {
  const titles = plan.columns.map(({ name, unit }) => csvText(unit ? `${name} [${unit}]` : name));
  const empty = new Array<string>(plan.columns.length).fill('');
  const fronts = plan.streams.map(({ compiled: { frame } }) =>
    [frame.bus, frame.id, frame.name].map(csvText).join(','),
  );
  return {
    head: ['time_s,bus,id,frame', ...titles].join(',') + '\r\n',
    rows(index, row, into) {
      const planned = plan.streams[index] as PlannedStream;
      const cells = empty.slice();
      eachSignal(planned, row, (i, offset) => {
        const signal = planned.compiled.signals[i] as CompiledSignal;
        const column = planned.columns[i] as number;
        const shown = wideValue(
          signal,
          plan.columns[column]?.type ?? 'number',
          valueAt(signal, planned.stream, offset),
        );
        cells[column] = typeof shown === 'number' ? physicalText(signal, shown) : csvText(shown ?? '');
      });
      into.push(`${timeText(planned.stream.timeUs[row] as number)},${[fronts[index], ...cells].join(',')}\r\n`);
      return 1;
    },
  };
}

export function jsonLong(plan: DecodePlan): TextWriter {
  return {
    head: '',
    rows(index, row, into) {
      const planned = plan.streams[index] as PlannedStream;
      const { frame } = planned.compiled;
      const before = into.length;
      eachSignal(planned, row, (i, offset) => {
        const signal = planned.compiled.signals[i] as CompiledSignal;
        const { physical, text, raw, invalid } = valueAt(signal, planned.stream, offset);
        into.push(
          JSON.stringify({
            time_s: (planned.stream.timeUs[row] as number) / 1e6,
            bus: frame.bus,
            id: frame.id,
            frame: frame.name,
            signal: signal.signal.name,
            value: Number.isFinite(physical) ? physical : null,
            unit: signal.signal.unit,
            ...(text === null ? {} : { text }),
            raw,
            ...(invalid === null ? {} : { invalid }),
          }) + '\n',
        );
      });
      return into.length - before;
    },
  };
}

export function jsonWide(plan: DecodePlan): TextWriter {
  return {
    head: '',
    rows(index, row, into) {
      const planned = plan.streams[index] as PlannedStream;
      const { frame } = planned.compiled;
      const values: [string, number | string | null][] = [];
      eachSignal(planned, row, (i, offset) => {
        const signal = planned.compiled.signals[i] as CompiledSignal;
        const type = plan.columns[planned.columns[i] as number]?.type ?? 'number';
        values.push([signal.signal.name, wideValue(signal, type, valueAt(signal, planned.stream, offset))]);
      });
      const time_s = (planned.stream.timeUs[row] as number) / 1e6;
      into.push(
        JSON.stringify({
          time_s,
          bus: frame.bus,
          id: frame.id,
          frame: frame.name,
          values: Object.fromEntries(values),
        }) + '\n',
      );
      return 1;
    },
  };
}
