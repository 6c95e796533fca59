/** The capture's origin as an exact decimal string, and what kind of clock it is on. */
import type { ClockKind, ClockOrigin } from '../table.ts';
import type { Recorder, TimeBase } from './recorder.ts';

/** Smaller numbers of seconds are counted from some start of the logger's own (the same bound as for marks). */
const EPOCH_FROM = 1e8;

/** `firstUs` counts from the base. */
export function makeOrigin(firstUs: number, base: TimeBase, recorders: readonly Recorder[]): ClockOrigin {
  const [first] = recorders.filter(({ stamped }) => stamped);
  if (!first) return { kind: 'none', text: '0' };
  const decimals = Math.max(...recorders.map((each) => each.decimals));
  const text = exactSeconds(base.seconds ?? 0, firstUs, decimals);
  return { kind: kindOf(Number(text), first), text };
}

function kindOf(seconds: number, { timeOfDay }: Recorder): ClockKind {
  if (timeOfDay) return 'time-of-day';
  return seconds >= EPOCH_FROM ? 'epoch' : 'relative';
}

/** Base plus microseconds with as many decimals as the file wrote, at least as many as are needed. */
export function exactSeconds(baseSeconds: number, us: number, decimals: number): string {
  const nanoseconds = BigInt(baseSeconds) * 1_000_000_000n + nanosecondsOf(us);
  const sign = nanoseconds < 0n ? '-' : '';
  const absolute = nanoseconds < 0n ? -nanoseconds : nanoseconds;
  const fraction = (absolute % 1_000_000_000n).toString().padStart(9, '0');
  const needed = fraction.replace(/0+$/, '').length;
  const digits = fraction.slice(0, Math.min(9, Math.max(decimals, needed)));
  return `${sign}${absolute / 1_000_000_000n}${digits === '' ? '' : '.' + digits}`;
}

function nanosecondsOf(us: number): bigint {
  const whole = Math.floor(us);
  return BigInt(whole) * 1000n + BigInt(Math.round((us - whole) * 1000));
}

/** An origin's text moved by microseconds, exact to the nanosecond: "7.5" and 250 give "7.50025". */
export function shiftedSeconds(text: string, byUs: number): string {
  const [, sign = '', whole = '0', fraction = ''] = /^(-?)(\d+)(?:\.(\d*))?$/.exec(text) ?? [];
  const seconds = BigInt(whole) * 1_000_000_000n + BigInt(fraction.padEnd(9, '0').slice(0, 9));
  const nanoseconds = (sign === '-' ? -seconds : seconds) + nanosecondsOf(byUs);
  const base = nanoseconds / 1_000_000_000n;
  return exactSeconds(Number(base), Number(nanoseconds - base * 1_000_000_000n) / 1000, fraction.length);
}
