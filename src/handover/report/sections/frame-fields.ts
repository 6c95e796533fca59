/** Everything that claims bits of a frame, numbered as in the drawing: where it lies, how it is read, what was seen, how sure it is. */
import type { Placement } from '../../../frames/bits.ts';
import { confidenceFigure } from '../../../kit/figures.ts';
import { value } from '../../../kit/sheet-figures.ts';
import { doubtOf } from '../../../map/doubt.ts';
import type { MapFrame, MapSignal, When } from '../../../map/schema.ts';
import { describePlace, describeScale, describeWhen } from '../describe.ts';
import { fullCell, inferred, type Cell, type Table, type Words } from '../document.ts';
import { checksumWords, counterWords, selectorWords } from '../guard-words.ts';

/** States listed in a cell; the map has the others. */
const STATES_LISTED = 16;
const POINTS_LISTED = 12;

function readingLines(signal: MapSignal): Words[] {
  const states = Object.entries(signal.states);
  const named = states.slice(0, STATES_LISTED).map(([raw, name]) => `${raw} ${name}`);
  const points = (signal.table ?? [])
    .slice(0, POINTS_LISTED)
    .map(([raw, physical]) => `${value(raw)}: ${value(physical)}`);
  const lines: (string | false)[] = [
    describeScale(signal) + (signal.unit ? ` ${signal.unit}` : ''),
    points.length > 0 && `points ${points.join(', ')}${(signal.table ?? []).length > points.length ? ' …' : ''}`,
    named.length > 0 &&
      `states ${named.join(', ')}${states.length > named.length ? `, and ${states.length - named.length} more` : ''}`,
    signal.invalid.length > 0 &&
      `no value: ${signal.invalid.map(({ from, to, meaning }) => `${from === to ? from : `${from} to ${to}`}${meaning ? ` ${meaning}` : ''}`).join(', ')}`,
  ];
  return lines.filter((line): line is string => line !== false);
}

function rangeLines({ observed, allowed, mayExtend }: MapSignal): Words[] {
  const range = ({ min, max }: { min: number; max: number }): string => `${value(min)} to ${value(max)}`;
  const more = (mayExtend?.above ?? 0) + (mayExtend?.below ?? 0);
  return [
    ...(observed ? [range(observed)] : [[inferred('none seen')]]),
    ...(allowed ? [`allowed ${range(allowed)}`] : []),
    ...(more > 0 ? [[inferred(`${more} still bits may belong to it`)]] : []),
  ];
}

function nameLines(name: string, entry: object, notes = ''): readonly Words[] {
  const doubt = doubtOf(entry);
  return [name, ...(doubt ? [[inferred(`it ${doubt}`)]] : []), ...(notes ? [notes] : [])];
}

const cellOf = (lines: readonly Words[]): Cell => ({ words: '', lines });
const pageOf = (when: When | undefined): string => describeWhen(when) || 'all';

type Row = (number: number, hasPages: boolean) => Cell[];

const rowWith =
  (
    placement: Placement & { readonly when?: When | undefined },
    name: Cell,
    reading: Cell,
    rest: readonly Cell[],
  ): Row =>
  (number, hasPages) => [
    String(number),
    name,
    describePlace(placement),
    ...(hasPages ? [pageOf(placement.when)] : []),
    reading,
    ...rest,
  ];

function signalRow(signal: MapSignal): Row {
  const name = cellOf(nameLines(signal.name, signal, signal.notes));
  const role = signal.role === 'unknown' ? [inferred('not known')] : signal.role;
  const standing: Cell = { ...fullCell(signal.standing), mark: signal.standing };
  const sending = signal.sending === 'proven' ? 'proven' : 'untested';
  const rest = [cellOf(rangeLines(signal)), role, standing, sending, confidenceFigure(signal.confidence)];
  return rowWith(signal, name, cellOf(readingLines(signal)), rest);
}

const guardRest = (role: string, confidence: number): Cell[] => ['', role, '', '', confidenceFigure(confidence)];

export function fieldsTable(frame: MapFrame): Table {
  const rows: Row[] = [
    ...frame.selectors.map((each) =>
      rowWith(each, cellOf(nameLines(each.name, each)), selectorWords(each), guardRest('selector', each.confidence)),
    ),
    ...frame.signals.map(signalRow),
    ...frame.counters.map((each) =>
      rowWith(each, cellOf(nameLines(each.name, each)), counterWords(each), guardRest('counter', each.confidence)),
    ),
    ...frame.checksums.map((each) =>
      rowWith(each, cellOf(nameLines(each.method, each)), checksumWords(each), guardRest('checksum', each.confidence)),
    ),
  ];
  const hasPages = frame.selectors.length > 0;
  return {
    kind: 'table',
    head: [
      { name: 'no.', align: 'right' },
      'field',
      'place',
      ...(hasPages ? ['page'] : []),
      { name: 'reading', wide: true },
      'seen',
      'role',
      'standing',
      'sending',
      { name: 'sure', align: 'right' },
    ],
    rows: rows.map((row, index) => row(index + 1, hasPages)),
  };
}
