/** Whether a frame is there, as long as the map says, and as often. */
import { lengthAt, type FrameTable, type Stream } from '../../frames/table.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { MOMENTS_MOST } from './moments.ts';
import { proveOnChange, proveReply } from './prove-sending.ts';
import * as limit from './thresholds.ts';
import type { ProofItem } from './types.ts';

const seconds = (value: number): string => `${Number(value.toPrecision(3))} s`;

/** Sent only in some modes, or only on an occasion: its absence says nothing. */
function neededInEveryMode({ timing }: MapFrame): boolean {
  if (timing.kind !== 'periodic' && timing.kind !== 'mixed') return false;
  return Object.values(timing.byMode ?? {}).every(({ kind }) => kind === 'periodic' || kind === 'mixed');
}

/** @param senderIsThere whether the rest of what the same sender sends is in the capture: a module without power is no fault of the map */
export function provePresence(
  frame: MapFrame,
  stream: Stream | undefined,
  survey: Survey,
  senderIsThere: boolean,
): ProofItem {
  const base = { item: 'presence' as const, name: frame.name, moments: [] };
  if (stream) return { ...base, verdict: 'holds', rate: 1, n: stream.count, detail: `${stream.count} frames` };
  const { durationS } = survey.capture;
  const periods = frame.timing.periodMs ? (durationS * 1000) / frame.timing.periodMs : 0;
  if (!neededInEveryMode(frame) || periods < limit.PERIODS_NEEDED || !senderIsThere) {
    const detail = !senderIsThere
      ? 'nothing else of its sender is there either'
      : neededInEveryMode(frame)
        ? 'the capture is too short to expect it'
        : 'its occasion may not have come';
    return {
      ...base,
      verdict: 'not-exercised',
      rate: null,
      n: 0,
      detail: `not seen in ${seconds(durationS)}; ${detail}`,
    };
  }
  const detail = `not seen in ${seconds(durationS)}, where about ${Math.round(periods)} were due`;
  return { ...base, verdict: 'fails', rate: 0, n: Math.round(periods), detail };
}

export function proveLength(frame: MapFrame, stream: Stream): ProofItem {
  let right = 0;
  const moments: number[] = [];
  for (let row = 0; row < stream.count; row++) {
    if (lengthAt(stream, row) === frame.length) right++;
    else if (moments.length < MOMENTS_MOST) moments.push((stream.timeUs[row] as number) / 1e6);
  }
  const rate = right / stream.count;
  return {
    item: 'length',
    name: frame.name,
    verdict: rate >= limit.LENGTH_HOLDS ? 'holds' : 'fails',
    rate,
    n: stream.count,
    detail: `${right} of ${stream.count} frames have ${frame.length} bytes`,
    moments,
  };
}

/** Share of the map's period that the measured one may be off: the stamps' step and the spread count too. */
function periodTolerance(frame: MapFrame, surveyed: SurveyFrame, survey: Survey, periodMs: number): number {
  const spread = 3 * Math.max(frame.timing.jitterMs ?? 0, surveyed.timing.jitterMs ?? 0);
  const step = survey.capture.clock.resolutionUs / 1000;
  return (
    limit.FAR_PERIOD_SHARE * periodMs +
    spread / Math.sqrt(Math.max(1, surveyed.count)) +
    step / Math.max(1, surveyed.count)
  );
}

/** Spread about the grid, which is the log's as well as the sender's: told, never refused. */
function jitterWords(frame: MapFrame, surveyed: SurveyFrame, expectedMs: number): string {
  const [before, now] = [frame.timing.jitterMs, surveyed.timing.jitterMs];
  if (before === null || now === null) return '';
  const isMore = now > limit.JITTER_TIMES * before && now > limit.JITTER_SHARE * expectedMs;
  const words = `jitter ${Number(now.toPrecision(3))} ms where it was ${Number(before.toPrecision(3))} ms`;
  return isMore ? `; ${words}: more, by this log or by the sender` : `; ${words}`;
}

/** Periods that the map holds for some mode: a capture that is all of one mode shows that mode's. */
function periodsOf({ timing }: MapFrame): number[] {
  const byMode = Object.values(timing.byMode ?? {}).map(({ periodMs }) => periodMs);
  return [timing.periodMs, ...byMode].filter((periodMs) => periodMs !== null);
}

/** @param table where a frame that answers another has to be looked up */
export function proveTiming(
  frame: MapFrame,
  stream: Stream,
  surveyed: SurveyFrame,
  survey: Survey,
  table: FrameTable,
): ProofItem {
  const base = { item: 'timing' as const, name: frame.name, moments: [] };
  const untested = (detail: string): ProofItem => ({ ...base, verdict: 'not-exercised', rate: null, n: 0, detail });
  const { kind, periodMs } = frame.timing;
  const n = surveyed.count - 1;
  if (survey.capture.clock.kind === 'none') return untested('the capture has no stamps');
  if (kind === 'on-change') return proveOnChange(frame, stream, surveyed);
  if (kind === 'reply') return proveReply(frame, stream, table);
  if (!periodMs || (kind !== 'periodic' && kind !== 'mixed'))
    return untested(kind === 'once' ? 'sent once: no interval to hold' : `"${kind}" without a period`);
  if (n < limit.PERIODS_NEEDED) return untested(`${n} intervals are too few`);
  if (surveyed.timing.kind === 'on-change')
    return untested('it comes on a change here, which shows neither the period nor that there is none');
  const measured = surveyed.timing.periodMs ?? (kind === 'periodic' ? surveyed.medianIntervalMs : null);
  if (measured === null) return untested('no steady period in this capture');
  const expectedMs = periodsOf(frame).sort((a, b) => Math.abs(measured - a) - Math.abs(measured - b))[0] as number;
  const off = Math.abs(measured - expectedMs);
  const holds = off <= periodTolerance(frame, surveyed, survey, expectedMs);
  const where = expectedMs === periodMs ? '' : ' for another mode than the usual';
  return {
    ...base,
    verdict: holds ? 'holds' : 'fails',
    rate: Math.max(0, 1 - off / expectedMs),
    n,
    detail: `period ${Number(measured.toPrecision(6))} ms over ${n} intervals, the map says ${expectedMs} ms${where}${jitterWords(frame, surveyed, expectedMs)}`,
  };
}
