/**
 * The two time bases of the small input files: epoch seconds, or seconds from a capture's origin where
 * they are smaller than 1e8. A file uses one of them throughout. Subtraction from an origin is
 * exact: the origin is decimal text, because a double at epoch seconds resolves only 0.24 us.
 */
import type { Problem } from './outcome.ts';

export type TimeBase = 'epoch' | 'capture';

/** Smaller ones are seconds from the origin (1e8 s is March 1973). */
export const EPOCH_FROM_S = 1e8;

export interface TimedLine {
  readonly timeS: number;
  /** Line of the file, or null where it has none (JSON). */
  readonly line: number | null;
}

/** The base that all times share, or what is wrong. No times at all count from the capture's origin. */
export function commonTimeBase(times: readonly TimedLine[], file: string): TimeBase | Problem {
  const isEpoch = (time: TimedLine): boolean => Math.abs(time.timeS) >= EPOCH_FROM_S;
  const [first] = times;
  if (!first) return 'capture';
  const other = times.find((time) => isEpoch(time) !== isEpoch(first));
  if (!other) return isEpoch(first) ? 'epoch' : 'capture';
  return {
    code: 'mixed-time-bases',
    message: `some times are epoch seconds and some are seconds from the capture's start (${first.timeS} and ${other.timeS})`,
    advice: 'Write all of them as epoch seconds, or all as seconds from the first frame.',
    place: other.line === null ? { file } : { file, line: other.line },
  };
}

/** Seconds from an origin written as exact decimal text: whole seconds and fractions apart. */
export function secondsSince(timeS: number, originText: string): number {
  const [, sign = '', whole = '0', fraction = ''] = /^([+-]?)(\d*)(?:\.(\d*))?/.exec(originText.trim()) ?? [];
  const direction = sign === '-' ? -1 : 1;
  const wholeS = direction * Number(whole || '0');
  const fractionS = direction * Number(`0.${fraction || '0'}`);
  return timeS - wholeS - fractionS;
}
