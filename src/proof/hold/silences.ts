/**
 * Silences that are not one frame's alone: a module that starts anew and a log that dropped a stretch both make counters go on elsewhere,
 * and neither is a fault of the map. Told by what else fell silent at the same time.
 */
import type { FrameTable, Stream } from '../../frames/table.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { SILENT_PERIODS } from './thresholds.ts';

export interface Silences {
  /** Whether another periodic frame of the same bus was silent as well at some time from..to, microseconds. */
  sharedBy(stream: Stream, fromUs: number, toUs: number): boolean;
}

interface Silence {
  readonly stream: Stream;
  readonly fromUs: number;
  readonly toUs: number;
}

const periodUs = ({ timing, medianIntervalMs }: SurveyFrame): number | null => {
  if (timing.kind !== 'periodic' && timing.kind !== 'mixed') return null;
  const ms = timing.periodMs ?? medianIntervalMs;
  return ms ? ms * 1000 : null;
};

function silencesOf(stream: Stream, usualUs: number): Silence[] {
  const silences: Silence[] = [];
  for (let row = 1; row < stream.count; row++) {
    const [fromUs, toUs] = [stream.timeUs[row - 1] as number, stream.timeUs[row] as number];
    if (toUs - fromUs > SILENT_PERIODS * usualUs) silences.push({ stream, fromUs, toUs });
  }
  return silences;
}

/** Linear in the frames. */
export function silencesIn(table: FrameTable, survey: Survey): Silences {
  const byBus = new Map<string, Silence[]>();
  for (const stream of table.streams) {
    const surveyed = survey.frames.find(
      (frame) =>
        frame.bus === stream.bus &&
        Number(frame.id) === stream.id &&
        frame.extended === stream.extended &&
        frame.direction === stream.direction,
    );
    const usualUs = surveyed ? periodUs(surveyed) : null;
    if (usualUs === null) continue;
    byBus.set(stream.bus, [...(byBus.get(stream.bus) ?? []), ...silencesOf(stream, usualUs)]);
  }
  return {
    sharedBy: (own, fromUs, toUs) =>
      (byBus.get(own.bus) ?? []).some((one) => one.stream !== own && one.fromUs < toUs && one.toUs > fromUs),
  };
}
