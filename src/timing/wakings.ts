/**
 * When an identifier was there and when a bus was awake. A module that starts hands its frames to the bus one after the other as its
 * software comes up, over hundreds of milliseconds; a logger that merely goes on hears every rhythm within one period. That
 * tells a waking from a hole in the recording (common practice, no source).
 */
import { lowerBound } from '../frames/pictures/columns.ts';
import type { Span } from '../frames/pictures/span.ts';
import type { Stream } from '../frames/table.ts';
import { MICROS_PER_SECOND } from '../kit/units.ts';
import type { Gap, SurveyFrame } from './types.ts';

/** A stretch in which a bus was awake, seconds from the capture's origin. */
export interface Waking {
  readonly fromS: number;
  readonly toS: number;
  /** Whether modules were seen to start: false where the logger only began, or went on, in the middle of traffic. */
  readonly seen: boolean;
}

/** One identifier on one waking of its bus. */
export interface Appearance {
  /** Place in the bus's wakings. */
  readonly waking: number;
  /** From the first frame on the bus to its own first one, and to its last. */
  readonly delayS: number;
  readonly lastS: number;
}

/** A silence of so many periods, and of so many seconds at least, ends a stretch: bursts of lost frames do not. */
const SILENT_PERIODS = 5;
const SILENT_S = 1.5;
/** Where there is no period: frames of one event lie closer. */
const EVENT_S = 2;
/** A whole bus that is silent for longer has gone to sleep, or was not recorded. */
const BUS_SLEEPS_S = 1.5;
/** A rhythm heard later than this many of its periods after the first frame on the bus began later. */
const LATE_PERIODS = 1.5;
const LATE_S = 0.02;
/** Of the quick rhythms on a bus, how many must have begun later before it counts as a waking: a lost burst delays one or two. */
const LATE_SHARE = 0.15;
const LATE_LEAST = 2;
const RHYTHMS_LEAST = 3;
/** A slower rhythm says little by when it is first heard, ms. */
const QUICK_MS = 250;

const secondsOf = (us: number): number => us / MICROS_PER_SECOND;

/** Stretches of a stream without a silence longer than `limitS`. O(n). */
export function presentSpans(stream: Stream, timing: SurveyFrame['timing']): Span[] {
  const limitS = timing.periodMs === null ? EVENT_S : Math.max(SILENT_S, (SILENT_PERIODS * timing.periodMs) / 1000);
  const spans: Span[] = [];
  const { timeUs, count } = stream;
  let from = 0;
  for (let row = 1; row <= count; row++) {
    const ends = row === count || (timeUs[row] as number) - (timeUs[row - 1] as number) > limitS * MICROS_PER_SECOND;
    if (!ends) continue;
    spans.push({ fromS: secondsOf(timeUs[from] as number), toS: secondsOf(timeUs[row - 1] as number) });
    from = row;
  }
  return spans;
}

interface Rhythm {
  readonly stream: Stream;
  readonly timing: SurveyFrame['timing'];
}

function firstFrom(stream: Stream, fromS: number): number {
  const row = lowerBound(stream.timeUs, fromS * MICROS_PER_SECOND);
  return row < stream.count ? secondsOf(stream.timeUs[row] as number) : Infinity;
}

function isWaking(rhythms: readonly Rhythm[], { fromS, toS }: Span): boolean {
  const delays = rhythms
    .filter(({ timing }) => timing.periodMs !== null && timing.periodMs <= QUICK_MS)
    .map(({ stream, timing }) => ({ delayS: firstFrom(stream, fromS) - fromS, periodS: (timing.periodMs ?? 0) / 1000 }))
    .filter(({ delayS }) => delayS <= toS - fromS);
  if (delays.length < RHYTHMS_LEAST) return false;
  const late = delays.filter(({ delayS, periodS }) => delayS > LATE_PERIODS * periodS + LATE_S).length;
  return late >= Math.max(LATE_LEAST, LATE_SHARE * delays.length);
}

/** The stretches in which a bus was awake. @param gaps stretches in which the whole bus was silent */
export function busWakings(rhythms: readonly Rhythm[], gaps: readonly Gap[]): Waking[] {
  if (rhythms.length === 0) return [];
  const firstS = Math.min(...rhythms.map(({ stream }) => secondsOf(stream.timeUs[0] as number)));
  const lastS = Math.max(...rhythms.map(({ stream }) => secondsOf(stream.timeUs[stream.count - 1] as number)));
  const sleeps = gaps.filter((gap) => gap.toS - gap.fromS >= BUS_SLEEPS_S);
  const starts = [firstS, ...sleeps.map(({ toS }) => toS)];
  const ends = [...sleeps.map(({ fromS }) => fromS), lastS];
  return starts.map((fromS, place) => {
    const span = { fromS, toS: ends[place] as number };
    return { ...span, seen: isWaking(rhythms, span) };
  });
}

/** Where an identifier came and went in each waking of its bus that it took part in. */
export function appearancesOf(stream: Stream, wakings: readonly Waking[]): Appearance[] {
  return wakings.flatMap(({ fromS, toS }, waking) => {
    const first = firstFrom(stream, fromS);
    if (first > toS) return [];
    const next = lowerBound(stream.timeUs, (toS + 1e-6) * MICROS_PER_SECOND);
    return [{ waking, delayS: first - fromS, lastS: secondsOf(stream.timeUs[next - 1] as number) - fromS }];
  });
}
