/** How long a frame may stay away before what it said is no longer held to be so. */
import type { MapFrame, MapTiming } from '../../map/schema.ts';

/** Common practice, no source: a receiver gives a periodic frame a few periods before it calls it lost. */
const PERIODS = 5;
/** Deviations of the sender's own jitter that the guess leaves room for on top. */
const JITTERS = 6;
/** Half of what 32 bits of microseconds hold: beyond it an age cannot be told from one that lies ahead. */
const MOST_US = 2 ** 31 - 1;

export interface FrameTimeout {
  /** Microseconds; 0 where the frame never times out. */
  readonly us: number;
  /** For a comment. */
  readonly words: string;
}

/** The longest period of any mode in milliseconds: a frame that slows down in one mode is not lost in it. */
function longestPeriodMs({ timing }: MapFrame): { periodMs: number; jitterMs: number } | null {
  const modes: Pick<MapTiming, 'periodMs' | 'jitterMs' | 'kind'>[] = [timing, ...Object.values(timing.byMode ?? {})];
  const known = modes.filter(({ periodMs, kind }) => (periodMs ?? 0) > 0 && (kind === 'periodic' || kind === 'mixed'));
  if (known.length === 0) return null;
  return {
    periodMs: Math.max(...known.map(({ periodMs }) => periodMs ?? 0)),
    jitterMs: Math.max(...known.map(({ jitterMs }) => jitterMs ?? 0)),
  };
}

export function timeoutOf(frame: MapFrame): FrameTimeout {
  const { timeoutMs, timeoutFrom } = frame.timing;
  if (timeoutMs !== undefined && timeoutMs > 0) {
    const words = timeoutFrom === 'bench' ? 'found on the bench' : 'a guess that the map holds';
    return { us: Math.min(MOST_US, Math.round(timeoutMs * 1000)), words };
  }
  const longest = longestPeriodMs(frame);
  if (!longest) return { us: 0, words: 'never: it is not sent periodically, so silence says nothing' };
  const guessMs = PERIODS * longest.periodMs + JITTERS * longest.jitterMs;
  return { us: Math.min(MOST_US, Math.ceil(guessMs * 1000)), words: `a guess: ${PERIODS} periods and the jitter` };
}
