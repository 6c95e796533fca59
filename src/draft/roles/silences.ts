/** When a sender falls silent while others go on: gaps in all that it sends in periods. */
import type { FrameTable, Stream } from '../../frames/table.ts';
import { formatId } from '../../kit/units.ts';
import type { SenderOf } from './prepared.ts';

/** Slower frames do not show it. */
const PERIOD_MOST_US = 300_000;
const PERIODS = 6;
const SILENT_LEAST_US = 600_000;
const FRAMES_LEAST = 50;
/** So many others must go on at least, as a share: else it is the bus that sleeps. */
const OTHERS_GO_ON = 0.5;

export interface Silent {
  /** Group letter, or an identifier whose sender is not known. */
  readonly name: string;
  readonly streams: ReadonlySet<Stream>;
  /** From its last frame to its next one, microseconds. */
  readonly spans: readonly (readonly [fromUs: number, toUs: number])[];
}

const isPeriodic = ({ timeUs, count }: Stream): boolean =>
  count >= FRAMES_LEAST && ((timeUs[count - 1] as number) - (timeUs[0] as number)) / count < PERIOD_MOST_US;

function gapsOf(streams: readonly Stream[]): [number, number][] {
  const times = Float64Array.from(streams.flatMap(({ timeUs, count }) => [...timeUs.subarray(0, count)])).sort();
  const usualUs = ((times[times.length - 1] as number) - (times[0] as number)) / times.length;
  const least = Math.max(SILENT_LEAST_US, PERIODS * usualUs);
  const gaps: [number, number][] = [];
  for (let k = 1; k < times.length; k++)
    if ((times[k] as number) - (times[k - 1] as number) > least)
      gaps.push([times[k - 1] as number, times[k] as number]);
  return gaps;
}

export function silencesOf(table: FrameTable, senderOf: SenderOf): Silent[] {
  const senders = new Map<string, Stream[]>();
  for (const stream of table.streams) {
    if (stream.direction !== 'received' || !isPeriodic(stream)) continue;
    const id = formatId(stream.id);
    const name = senderOf({ bus: stream.bus, id, extended: stream.extended }).likely ?? id;
    senders.set(name, [...(senders.get(name) ?? []), stream]);
  }
  const all = [...senders].map(([name, streams]): Silent => ({
    name,
    streams: new Set(streams),
    spans: gapsOf(streams),
  }));
  const isSilentIn = ({ spans }: Silent, fromUs: number, toUs: number): boolean =>
    spans.some(([from, to]) => from < (fromUs + toUs) / 2 && to > (fromUs + toUs) / 2);
  return all
    .map((one) => ({
      ...one,
      spans: one.spans.filter(
        ([from, to]) => all.filter((other) => isSilentIn(other, from, to)).length <= OTHERS_GO_ON * all.length,
      ),
    }))
    .filter(({ spans }) => spans.length > 0);
}
