/** Whether frames that are sent on a change, or in answer to another frame, are still sent so. */
import { leftBy } from '../../fields/mask.ts';
import type { Placement } from '../../frames/bits.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { idNumber } from '../../map/identifiers.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { SurveyFrame } from '../../timing/types.ts';
import { momentsOf } from './moments.ts';
import * as limit from './thresholds.ts';
import type { ProofItem, ProofVerdict } from './types.ts';

/** Rows that bring nothing new. */
function repeatsIn({ payload, stride, count }: Stream, mask: Uint8Array): number[] {
  const isSame = (row: number): boolean =>
    mask.every((bits, byte) => {
      const at = row * stride + byte;
      return (((payload[at] as number) ^ (payload[at - stride] as number)) & bits) === 0;
    });
  return Array.from({ length: Math.max(0, count - 1) }, (_, row) => row + 1).filter(isSame);
}

const base = (frame: MapFrame) => ({ item: 'timing' as const, name: frame.name, moments: [] });

export function proveOnChange(frame: MapFrame, stream: Stream, surveyed: SurveyFrame): ProofItem {
  const n = stream.count - 1;
  if (n < limit.PERIODS_NEEDED)
    return { ...base(frame), verdict: 'not-exercised', rate: null, n: 0, detail: `${n + 1} frames are too few` };
  // Counters and checksums always change, and bring no news.
  const news = leftBy(new Uint8Array(stream.stride).fill(0xff), [...frame.counters, ...frame.checksums] as Placement[]);
  const repeats = repeatsIn(stream, news);
  const rate = 1 - repeats.length / n;
  const isPeriodic = surveyed.timing.kind === 'periodic' && rate <= limit.NEWS_RARE;
  const verdict: ProofVerdict = isPeriodic ? 'fails' : rate >= limit.NEWS_USUAL ? 'holds' : 'not-exercised';
  const detail = `${n - repeats.length} of ${n} frames bring something new${isPeriodic ? `, and they come every ${surveyed.timing.periodMs} ms` : ''}`;
  return {
    ...base(frame),
    verdict,
    rate: verdict === 'not-exercised' ? null : rate,
    n,
    detail,
    moments: verdict === 'fails' ? momentsOf(stream, repeats) : [],
  };
}

/** [n] milliseconds since the last request; NaN before the first. */
function delaysMs(request: Stream, reply: Stream): number[] {
  let asked = -1;
  return Array.from({ length: reply.count }, (_, row) => {
    const atUs = reply.timeUs[row] as number;
    while (asked + 1 < request.count && (request.timeUs[asked + 1] as number) <= atUs) asked++;
    return asked < 0 ? Number.NaN : (atUs - (request.timeUs[asked] as number)) / 1000;
  });
}

export function proveReply(frame: MapFrame, stream: Stream, table: FrameTable): ProofItem {
  const { replyTo, delayMs } = frame.timing;
  const open = (detail: string): ProofItem => ({ ...base(frame), verdict: 'not-exercised', rate: null, n: 0, detail });
  if (replyTo === undefined) return open('the map does not say what it answers');
  const id = idNumber(replyTo);
  const request = table.streams.find(
    (one) => one.bus === stream.bus && one.id === id && one.extended === frame.extended,
  );
  if (!request) return open(`nothing asks: ${replyTo} is not in the capture`);
  if (stream.count < limit.PERIODS_NEEDED) return open(`${stream.count} answers are too few`);
  const most = Math.max(limit.REPLY_TIMES * (delayMs ?? 0), (delayMs ?? 0) + limit.REPLY_ROOM_MS);
  const delays = delaysMs(request, stream);
  const late = [...delays.keys()].filter((row) => !((delays[row] as number) <= most));
  const rate = 1 - late.length / stream.count;
  const verdict = rate >= limit.REPLIES_HOLD ? 'holds' : rate < limit.REPLIES_FAIL ? 'fails' : 'not-exercised';
  return {
    ...base(frame),
    verdict,
    rate: verdict === 'not-exercised' ? null : rate,
    n: stream.count,
    detail: `${stream.count - late.length} of ${stream.count} come within ${most} ms of ${replyTo}`,
    moments: verdict === 'fails' ? momentsOf(stream, late) : [],
  };
}
