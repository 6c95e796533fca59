/**
 * Values that say "no data yet": modules fill fields with ones behind each silence of theirs until they know better. Such a value is no state, and neither reaching nor leaving
 * it is a step. It is told by the frame's own rows: all ones in the first rows behind silences, and (nearly) never elsewhere. A field too
 * short for that, or one that holds all ones at other times as well, is taken for filled where it leaves all ones together with such a field of its frame.
 */
import { lowerBound } from '../frames/pictures/columns.ts';
import type { Stream } from '../frames/table.ts';
import { fieldSeries, type FieldSeries } from '../map/field-series.ts';
import { seriesOf, type Candidate } from '../map/proposed-fields.ts';
import { rowsBehindSilence } from './presence.ts';

/** What takes longer to be known than this is a state of its own. */
const FILLED_MOST_US = 5e6;
/** Silences that show it: once may be chance. */
const SILENCES_LEAST = 2;
/** Of the silences behind which the field was seen. */
const SILENCES_SHARE = 0.5;
/** Runs of all ones elsewhere, for each one behind a silence; and rows that hold it, of all: what a sender hardly ever knows is not filled but so. */
const ELSEWHERE = 0.1;
const ROWS_SHARE = 0.1;
/** A single one is a value as likely as not, and numbers beyond what is exact are not read. */
const BITS = [2, 53] as const;
/** Of a field that goes with another one: shares of that one's fillings in which it holds ones all along. */
const ALONG_SHARE = 0.8;

/** A stretch from the first row behind a silence to the first row with a real value. */
interface Filling {
  readonly fromUs: number;
  readonly endUs: number;
}

const onesOf = ({ field }: Candidate): number => 2 ** field.length - 1;

const unsignedSeries = ({ stream, field, frame }: Candidate): FieldSeries =>
  fieldSeries(stream, { ...field, coding: 'unsigned', invalid: [] }, frame.selectors);

/** The fillings of a field that shows them by itself, the capture's first rows among them; none where all ones may be a value. */
function ownFillings(candidate: Candidate, wakesUs: readonly number[], startUs: number): readonly Filling[] {
  const { length } = candidate.field;
  if (length < BITS[0] || length > BITS[1]) return [];
  const { timeUs, value } = unsignedSeries(candidate);
  const ones = onesOf(candidate);
  const starts = new Map([startUs, ...wakesUs].map((wakeUs) => [lowerBound(timeUs, wakeUs), wakeUs]));
  const fillings: Filling[] = [];
  let elsewhere = 0;
  let rows = 0;
  for (let k = 0; k < value.length; k++) {
    if (value[k] !== ones) continue;
    const first = k;
    while (k + 1 < value.length && value[k + 1] === ones && !starts.has(k + 1)) k++;
    const fromUs = starts.get(first);
    const endUs = timeUs[k + 1];
    const isFilling = fromUs !== undefined && endUs !== undefined && endUs - fromUs <= FILLED_MOST_US;
    rows += k + 1 - first;
    if (isFilling && !starts.has(k + 1)) fillings.push({ fromUs, endUs });
    else elsewhere++;
  }
  const behind = fillings.filter(({ fromUs }) => wakesUs.includes(fromUs)).length;
  const isShown = behind >= Math.max(SILENCES_LEAST, SILENCES_SHARE * wakesUs.length);
  return isShown && elsewhere <= ELSEWHERE * behind && rows <= ROWS_SHARE * value.length ? fillings : [];
}

/** Whether a field holds ones along the fillings of another one, and leaves them with it. */
function goesWith({ timeUs, value }: FieldSeries, ones: number, fillings: readonly Filling[]): boolean {
  let [asked, along, left] = [0, 0, 0];
  for (const { fromUs, endUs } of fillings) {
    const [first, end] = [lowerBound(timeUs, fromUs), lowerBound(timeUs, endUs)];
    if (first === end) continue;
    asked++;
    if (value.subarray(first, end).some((each) => each !== ones)) continue;
    along++;
    if (end < value.length && value[end] !== ones) left++;
  }
  return left >= SILENCES_LEAST && along >= ALONG_SHARE * asked;
}

function without({ timeUs, value }: FieldSeries, ones: number, fillings: readonly Filling[]): FieldSeries {
  const isKept = new Uint8Array(value.length).fill(1);
  for (const { fromUs, endUs } of fillings)
    for (let k = lowerBound(timeUs, fromUs); k < value.length && (timeUs[k] as number) < endUs; k++)
      if (value[k] === ones) isKept[k] = 0;
  return { timeUs: timeUs.filter((_, k) => isKept[k]), value: value.filter((_, k) => isKept[k]) };
}

/** What a field of unsigned coding is known to hold: its series without "no data yet". Cost: two reads of each field of a frame that falls silent. */
export function knownSeries(candidates: readonly Candidate[]): (candidate: Candidate) => FieldSeries {
  const shown = new Map<Stream, (readonly Filling[])[]>();
  for (const stream of new Set(candidates.map((candidate) => candidate.stream))) {
    const wakesUs = rowsBehindSilence(stream).map((row) => stream.timeUs[row] as number);
    if (wakesUs.length < SILENCES_LEAST) continue;
    const startUs = stream.timeUs[0] as number;
    const own = candidates.filter((candidate) => candidate.stream === stream);
    const fillings = own
      .map((candidate) => ownFillings(candidate, wakesUs, startUs))
      .filter(({ length }) => length > 0);
    if (fillings.length > 0) shown.set(stream, fillings);
  }
  return (candidate) => {
    const series = seriesOf(candidate);
    const ones = onesOf(candidate);
    const fillings = shown.get(candidate.stream)?.find((each) => goesWith(series, ones, each));
    return fillings ? without(series, ones, fillings) : series;
  };
}
