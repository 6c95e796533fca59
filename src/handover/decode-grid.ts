/** Decoded values on a common grid of time: instants at whole multiples of the step, counted from the capture's origin. */
import { bad, good, type Outcome } from '../kit/outcome.ts';
import { csvText, timeText } from './csv-text.ts';
import type { DecodePlan, WideColumn } from './decode-plan.ts';
import { ruleFor, samplerOf, type Resampling, type ResampleRule, type Sampler } from './decode-samples.ts';
import { cellOf, column, type Cell, type ColumnDefinition } from './parquet-file.ts';
import { signalColumn } from './parquet-values.ts';
import { physicalText, wideValue } from './value-writers.ts';

export interface GridColumn {
  readonly column: WideColumn;
  readonly rule: ResampleRule;
  readonly sampler: Sampler;
}

export interface Grid {
  readonly columns: readonly GridColumn[];
  readonly instants: number;
  instantUs(index: number): number;
}

/** A day at 10 ms is 8.6 million instants. */
const INSTANTS_MOST = 50e6;

export const RULE_WORDS: Readonly<Record<ResampleRule, string>> = {
  hold: 'the last value at or before the instant, not older than its reach',
  mean: 'the mean of the values stamped within the step that ends with the instant; states, flags and texts are held',
  linear:
    'on the straight line between the values before and after, no farther apart than their reach; states, flags and texts are held',
};

export function layGrid(plan: DecodePlan, resampling: Resampling): Outcome<Grid> {
  const streams = plan.streams.map(({ stream }) => stream).filter(({ count }) => count > 0);
  const firstUs = Math.max(plan.window.fromUs, Math.min(...streams.map(({ timeUs }) => timeUs[0] as number)));
  const lastUs = Math.min(
    plan.window.toUs,
    Math.max(...streams.map(({ timeUs, count }) => timeUs[count - 1] as number)),
  );
  const { stepUs } = resampling;
  const start = Math.ceil(firstUs / stepUs - 1e-9);
  const instants = Math.max(0, Math.floor(lastUs / stepUs + 1e-9) - start + 1);
  if (instants > INSTANTS_MOST)
    return bad({
      code: 'grid-too-fine',
      message: `that grid has ${instants} instants.`,
      advice: `Take a wider step or less time: at most ${INSTANTS_MOST} are written.`,
    });
  const columns = plan.streams.flatMap(({ stream, columns: own }) =>
    own.map((at): GridColumn => {
      const each = plan.columns[at] as WideColumn;
      return { column: each, rule: ruleFor(each, resampling.rule), sampler: samplerOf(each, stream, resampling) };
    }),
  );
  // Whole microseconds where the step has a fraction of one: stamps have no finer.
  return good({ columns, instants, instantUs: (index) => Math.round((start + index) * stepUs) });
}

/** Cells of one instant in the wide form, in the order of the columns. */
function wideCells({ columns }: Grid, instantUs: number): (number | string | null)[] {
  return columns.map(({ column: { signal, type }, sampler }) => {
    const value = sampler.at(instantUs);
    return value && wideValue(signal, type, value);
  });
}

interface LongRow {
  readonly column: WideColumn;
  readonly physical: number | null;
  readonly text: string | null;
}

function longRows({ columns }: Grid, instantUs: number): LongRow[] {
  return columns.flatMap(({ column: own, sampler }) => {
    const value = sampler.at(instantUs);
    if (!value) return [];
    return [{ column: own, physical: Number.isFinite(value.physical) ? value.physical : null, text: value.text }];
  });
}

export interface GridText {
  readonly head: string;
  /** @returns rows added. */
  rows(instantUs: number, into: string[]): number;
}

const numberOrEmpty = ({ signal }: WideColumn, value: number | null): string =>
  value === null ? '' : physicalText(signal, value);

export function gridCsv(grid: Grid, form: 'long' | 'wide'): GridText {
  if (form === 'wide') {
    const titles = grid.columns.map(({ column: { name, unit } }) => csvText(unit ? `${name} [${unit}]` : name));
    return {
      head: ['time_s', ...titles].join(',') + '\r\n',
      rows(instantUs, into) {
        const cells = wideCells(grid, instantUs).map((value, i) =>
          typeof value === 'number'
            ? numberOrEmpty((grid.columns[i] as GridColumn).column, value)
            : csvText(value ?? ''),
        );
        into.push([timeText(instantUs), ...cells].join(',') + '\r\n');
        return 1;
      },
    };
  }
  return {
    head: 'time_s,bus,id,frame,signal,value,unit,text\r\n',
    rows(instantUs, into) {
      const rows = longRows(grid, instantUs);
      for (const { column: own, physical, text } of rows) {
        const names = [own.frame.bus, own.frame.id, own.frame.name, own.signal.signal.name].map(csvText);
        const cells = [numberOrEmpty(own, physical), csvText(own.unit), csvText(text ?? '')];
        into.push([timeText(instantUs), ...names, ...cells].join(',') + '\r\n');
      }
      return rows.length;
    },
  };
}

export function gridJson(grid: Grid, form: 'long' | 'wide'): GridText {
  return {
    head: '',
    rows(instantUs, into) {
      const time_s = instantUs / 1e6;
      const line = (object: unknown) => into.push(JSON.stringify(object) + '\n');
      if (form === 'wide') {
        const cells = wideCells(grid, instantUs);
        const values = Object.fromEntries(grid.columns.map(({ column: { name } }, i) => [name, cells[i] ?? null]));
        line({ time_s, values });
        return 1;
      }
      const rows = longRows(grid, instantUs);
      for (const { column: own, physical, text } of rows) {
        const { bus, id, name: frame } = own.frame;
        const front = { time_s, bus, id, frame, signal: own.signal.signal.name };
        line({ ...front, value: physical, unit: own.unit, ...(text === null ? {} : { text }) });
      }
      return rows.length;
    },
  };
}

export interface GridParquet {
  readonly columns: readonly ColumnDefinition[];
  rows(instantUs: number, cells: readonly Cell[][]): number;
}

const timeColumn = column('time_s', 'DOUBLE', false, { unit: 's' });
const named = (names: readonly string[]): ColumnDefinition[] => names.map((name) => column(name, 'STRING'));

export function gridParquet(grid: Grid, form: 'long' | 'wide'): GridParquet {
  const push = (cells: readonly Cell[][], row: readonly Cell[]): void =>
    row.forEach((value, i) => (cells[i] as Cell[]).push(value));
  if (form === 'wide') {
    const own = grid.columns.map(({ column: each, rule, sampler }) => {
      // A mean or a point of a line is whole by chance only.
      const stored = signalColumn(rule === 'hold' ? each : { ...each, whole: null });
      return { ...stored, about: { ...stored.about, rule, reach_s: String(sampler.reachUs / 1e6) } };
    });
    return {
      columns: [timeColumn, ...own],
      rows(instantUs, cells) {
        const values = wideCells(grid, instantUs).map((value, i) => cellOf(own[i]?.type ?? 'DOUBLE', value));
        push(cells, [instantUs / 1e6, ...values]);
        return 1;
      },
    };
  }
  return {
    columns: [
      timeColumn,
      ...named(['bus', 'id', 'frame', 'signal']),
      column('value', 'DOUBLE', true),
      ...named(['unit']),
      column('text', 'STRING', true),
    ],
    rows(instantUs, cells) {
      const rows = longRows(grid, instantUs);
      for (const { column: own, physical, text } of rows) {
        const { bus, id, name } = own.frame;
        push(cells, [instantUs / 1e6, bus, id, name, own.signal.signal.name, physical, own.unit, text]);
      }
      return rows.length;
    },
  };
}
