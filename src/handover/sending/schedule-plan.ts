/**
 * What a schedule sends, and when: the frames of a keep-alive plan that may go out, with their times in whole microseconds. What cannot be scheduled
 * is left out by name, with the reason.
 */
import { compileEncoder } from '../../map/encode.ts';
import { formatPayload, parsePayload } from '../../map/raw-values.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import { whyNotSet, type LeftOut } from '../encode-choice.ts';
import type { PlannedFrame } from '../needs/types.ts';
import { commandsIn, whyKeptOut } from './choice.ts';
import { restMark } from './marked-rest.ts';
import { firstTimes } from './schedule-times.ts';

export interface ScheduledFrame {
  readonly frame: MapFrame;
  readonly kind: 'periodic' | 'mixed' | 'on-change' | 'once';
  /** First time after the start, microseconds; null: only when the program says that it changed. */
  readonly firstUs: number | null;
  /** 0: not periodic. */
  readonly periodUs: number;
  /** On a change so many frames, so far apart; 1 where it is sent once. */
  readonly burstCount: number;
  readonly burstUs: number;
  readonly mayCommand: readonly string[];
}

export interface SchedulePlan {
  /** By first time, then as the plan has them. */
  readonly frames: readonly ScheduledFrame[];
  readonly leftOut: readonly LeftOut[];
}

/** A bus of 1 Mbit/s carries the shortest frame in some 50 us; times must fit 32 bits of microseconds. */
const SHORTEST_US = 100;
const LONGEST_US = 0x7fffffff;

const us = (ms: number): number => Math.round(ms * 1000);

function whyNotTimed({ frame, periodMs, firstAfterWakeMs }: PlannedFrame): string | null {
  const { kind, replyTo } = frame.timing;
  if (kind === 'reply')
    return `it answers ${replyTo ? `frame ${replyTo}` : 'a request'}: a schedule hears nothing, so the program must send it`;
  if (kind === 'once') return firstAfterWakeMs ? null : 'it is sent once, and no waking shows when';
  if (kind === 'on-change') return null;
  if (periodMs === null) return 'its period is not known';
  const periodUs = us(periodMs);
  return periodUs >= SHORTEST_US && periodUs <= LONGEST_US ? null : `a period of ${periodMs} ms cannot be kept`;
}

const UNMARKED =
  'its payload at rest was not taken from a span marked at rest: take it from one first (docs/sending.md)';

/** Whether the encoder, at rest, gives back what was recorded at rest: else the map's own rules are off. */
function whyNotAtRest(frame: MapFrame): string | null {
  const rest = frame.rest && parsePayload(frame.rest.payload);
  if (!rest) return 'no payload recorded at rest to lay signals over';
  if (restMark(frame) === null) return UNMARKED;
  const encoder = compileEncoder(frame);
  const given = encoder.compiled.decode(rest).signals.filter(({ name, invalid }) => {
    const signal = frame.signals.find((each) => each.name === name);
    return invalid === null && signal !== undefined && whyNotSet(frame, signal, new Set()) === null;
  });
  const values = Object.fromEntries(given.map(({ name, physical }) => [name, physical]));
  const outcome = encoder.encode(values, { counters: encoder.compiled.decode(rest).counters, ranges: 'observed' });
  if (!outcome.ok) return `its own payload at rest is refused: ${outcome.problems[0].message}`;
  return formatPayload(outcome.value) === formatPayload(rest)
    ? null
    : 'its rules do not give back the payload recorded at rest, so they are wrong somewhere';
}

export function planSchedule(
  map: Pick<SignalMap, 'frames'>,
  planned: readonly PlannedFrame[],
  released: ReadonlySet<string>,
): SchedulePlan {
  const leftOut: LeftOut[] = [];
  const kept = planned.filter((each) => {
    const { frame } = each;
    const why = whyKeptOut(map, frame, released) ?? each.whyNotProduced ?? whyNotTimed(each) ?? whyNotAtRest(frame);
    if (why !== null) leftOut.push({ name: frame.name, why });
    return why === null;
  });
  const times = firstTimes(kept);
  const frames = kept.map((each, i) => scheduled(each, times[i] as number));
  return { frames: frames.toSorted((a, b) => (a.firstUs ?? LONGEST_US) - (b.firstUs ?? LONGEST_US)), leftOut };
}

function scheduled({ frame, periodMs, firstAfterWakeMs, mayCommand }: PlannedFrame, firstMs: number): ScheduledFrame {
  const { kind, burst } = frame.timing;
  const known = kind === 'reply' ? 'once' : kind;
  const isPeriodic = known === 'periodic' || known === 'mixed';
  const count = known === 'periodic' || known === 'once' ? 1 : Math.max(1, burst?.count ?? 1);
  return {
    frame,
    kind: known,
    firstUs: isPeriodic || firstAfterWakeMs ? Math.min(LONGEST_US, us(firstMs)) : null,
    periodUs: isPeriodic ? us(periodMs ?? 0) : 0,
    burstCount: Math.min(count, 0xffff),
    burstUs: Math.max(SHORTEST_US, Math.min(LONGEST_US, us(burst?.periodMs ?? 0))),
    mayCommand: [...new Set([...commandsIn(frame), ...mayCommand])],
  };
}
