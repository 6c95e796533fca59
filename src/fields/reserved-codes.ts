/**
 * Codes that mean no measurement, as SAE J1939-71 reserves them in values of whole bytes on 29-bit identifiers (from memory): the most
 * significant byte FE says error, FF not available, FB to FD are kept for later. They are taken as such only where the values
 * themselves show it: into a code and out of it they leap farther than ever between measurements, taken round the end as well (a signed value
 * that goes through zero does not leap), and none lies in between.
 */
import type { Stream } from '../frames/table.ts';
import { fieldSeries } from '../map/field-series.ts';
import type { MapSelector, MapSignal } from '../map/schema.ts';
import type { FieldFinding } from './types.ts';

const WIDTHS: readonly number[] = [8, 16, 32];
const RESERVED = 0xfb;
const MEANINGS: readonly (readonly [number, string])[] = [
  [0xfe, 'error'],
  [0xff, 'not available'],
];
const MEASUREMENTS_LEAST = 20;
const LEVELS_LEAST = 3;

const isOfWholeBytes = ({ lsb, length, order, continues, coding, kind }: FieldFinding): boolean =>
  kind === 'number' &&
  (coding === 'unsigned' || coding === 'signed') &&
  WIDTHS.includes(length) &&
  lsb.bit === 0 &&
  !continues &&
  (length === 8 || order === 'little');

interface Seen {
  readonly tops: Set<number>;
  readonly measured: number[];
  /** Greatest step between measurements, least one into a code or out of it. */
  readonly within: number;
  readonly into: number;
}

function seenIn(values: Float64Array, length: number): Seen {
  const tops = new Set<number>();
  const measured: number[] = [];
  let [within, into] = [0, Number.POSITIVE_INFINITY];
  let last: { value: number; isCode: boolean } | null = null;
  for (const value of values) {
    const top = Math.floor(value / 2 ** (length - 8));
    const isCode = top >= RESERVED;
    if (isCode) tops.add(top);
    else measured.push(value);
    const apart = last ? Math.abs(value - last.value) : 0;
    const step = Math.min(apart, 2 ** length - apart);
    if (last && last.isCode !== isCode) into = Math.min(into, step);
    else if (last && !isCode) within = Math.max(within, step);
    last = { value, isCode };
  }
  return { tops, measured, within, into };
}

/** The ranges of raw values that are codes, and the range of what was measured; null where nothing shows that there are any. */
function codesOf(values: Float64Array, length: number): Pick<MapSignal, 'invalid' | 'observed'> | null {
  const { tops, measured, within, into } = seenIn(values, length);
  const known = MEANINGS.filter(([top]) => tops.has(top));
  const isPlain = known.length > 0 && known.length === tops.size && into > within;
  if (!isPlain || measured.length < MEASUREMENTS_LEAST || new Set(measured).size < LEVELS_LEAST) return null;
  const unit = 2 ** (length - 8);
  return {
    invalid: known.map(([top, meaning]) => ({ from: top * unit, to: (top + 1) * unit - 1, meaning })),
    observed: { min: measured.reduce((a, b) => Math.min(a, b)), max: measured.reduce((a, b) => Math.max(a, b)) },
  };
}

/** The fields of one identifier, those with such codes told so. Cost: one read a frame for each field of whole bytes. */
export function withReservedCodes(
  fields: readonly FieldFinding[],
  stream: Stream,
  selectors: readonly MapSelector[],
): readonly FieldFinding[] {
  if (!stream.extended) return fields;
  return fields.map((field) => {
    if (!isOfWholeBytes(field)) return field;
    const codes = codesOf(
      fieldSeries(stream, { ...field, coding: 'unsigned', invalid: [] }, selectors).value,
      field.length,
    );
    if (!codes) return field;
    const told = codes.invalid.map(({ meaning }) => meaning).join(' and ');
    return {
      ...field,
      ...codes,
      coding: 'unsigned',
      why: `${field.why} It leaps to the codes kept for ${told} on 29-bit identifiers.`,
    };
  });
}
