/**
 * Whether what a trial was to send was really on the bus: there, about as often as planned, to the end, with counters that count and checksums
 * that hold. A receiver takes a frame with a frozen counter for absent, and a trial with it would tell of the schedule and not of the module.
 */
import { lengthAt, type Stream } from '../../frames/table.ts';
import { checkContinuity } from '../../map/counter.ts';
import { compileFrame, type CompiledFrame } from '../../map/decode.ts';
import { valuesOnPage } from '../../map/page-values.ts';
import type { MapFrame } from '../../map/schema.ts';
import { valuesAtEnd } from './observe-fields.ts';

/** Shares of what is planned below which a frame does not count as sent. Common practice, no source: receivers bear single losses. */
const LEAST_SHARE = 0.5;
const COUNTS_ON_SHARE = 0.9;
const CHECKSUM_SHARE = 0.98;
const ROWS_LOOKED_AT = 600;
/** Silent at the end for so many periods, and so many seconds. */
const SILENT_PERIODS = 4;
const SILENT_S = 0.3;

function counterTrouble(compiled: CompiledFrame, stream: Stream): string {
  for (const guard of compiled.counters) {
    const { raws } = valuesOnPage(guard, stream);
    if (raws.length < 4) continue;
    const { pairs, continued } = checkContinuity(guard.rule, raws, null);
    if (continued < COUNTS_ON_SHARE * pairs)
      return `its counter ${guard.rule.name} does not count on (${continued} of ${pairs} steps)`;
  }
  return '';
}

function checksumTrouble(compiled: CompiledFrame, stream: Stream): string {
  if (compiled.checksums.length === 0) return '';
  const every = Math.max(1, Math.floor(stream.count / ROWS_LOOKED_AT));
  let [looked, held] = [0, 0];
  for (let row = 0; row < stream.count; row += every) {
    const at = row * stream.stride;
    const { checksums } = compiled.decode(stream.payload, lengthAt(stream, row), at);
    if (checksums.length === 0 || checksums.some(({ holds }) => holds === null)) continue;
    looked++;
    if (checksums.every(({ holds }) => holds)) held++;
  }
  return held < CHECKSUM_SHARE * looked ? `its checksum holds in ${held} of ${looked} frames` : '';
}

export interface SentWindow {
  readonly fromUs: number;
  /** Until when it was to be sent: the end of the trial, or where it was stopped. */
  readonly toUs: number;
  /** As planned; null where it has none. */
  readonly periodMs: number | null;
  /** Values it is to carry, other than those at rest. */
  readonly values: readonly { readonly signal: string; readonly value: number }[];
}

/** A step of the signal more or less is rounding. */
function valueTrouble(frame: MapFrame, stream: Stream, { fromUs, toUs, values }: SentWindow): string {
  for (const { signal, value } of values) {
    const found = valuesAtEnd(frame, signal, stream, fromUs + (toUs - fromUs) / 2);
    const step = Math.abs(frame.signals.find(({ name }) => name === signal)?.scale ?? 0);
    const middle = found[Math.floor(found.length / 2)];
    if (middle === undefined || Math.abs(middle - value) > 0.51 * step)
      return `${signal} was ${middle ?? 'not there'} and was to be ${value}`;
  }
  return '';
}

export interface SentReading {
  readonly frames: number;
  readonly expected: number | null;
  readonly lastS: number | null;
  readonly trouble: string;
}

export function readSent(frame: MapFrame, stream: Stream | undefined, window: SentWindow): SentReading {
  const { fromUs, toUs, periodMs } = window;
  const expected = periodMs === null ? null : Math.floor((toUs - fromUs) / 1000 / periodMs);
  if (!stream || stream.count === 0) return { frames: 0, expected, lastS: null, trouble: 'it is not in the recording' };
  const lastUs = stream.timeUs[stream.count - 1] as number;
  const found = { frames: stream.count, expected, lastS: (lastUs - fromUs) / 1e6 };
  if (expected !== null && periodMs !== null) {
    if (stream.count < LEAST_SHARE * expected)
      return { ...found, trouble: `${stream.count} frames where about ${expected} were planned` };
    const silentS = (toUs - lastUs) / 1e6;
    if (silentS > SILENT_S && silentS * 1000 > SILENT_PERIODS * periodMs)
      return { ...found, trouble: `it fell silent ${silentS.toFixed(1)} s before the end` };
  }
  const compiled = compileFrame(frame);
  const trouble = counterTrouble(compiled, stream) || checksumTrouble(compiled, stream);
  return { ...found, trouble: trouble || valueTrouble(frame, stream, window) };
}
