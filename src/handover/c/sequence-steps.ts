/**
 * What a sequence of the map asks of what is heard: each step a signal that takes a value, or a frame that begins, within a window
 * of time since the first step. Windows are those seen, widened by a margin: the few repetitions of a capture seldom
 * hold the extremes.
 */
import { placementLength } from '../../frames/bits.ts';
import { bigOf } from '../../map/raw-values.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../map/schema.ts';

type MapSequence = SignalMap['sequences'][number];

export interface StepPlan {
  readonly frame: MapFrame;
  /** The signal that takes a value; null for a frame that begins. */
  readonly takes: { readonly signal: MapSignal; readonly from: bigint; readonly to: bigint } | null;
  /** Microseconds since the first step, margin included; lowUs 0 where the margin goes beyond it. */
  readonly lowUs: number;
  readonly highUs: number;
  /** As seen, milliseconds. */
  readonly delayMs: readonly [number, number];
  readonly seen: number;
  /** Seen in every repetition: only then is its absence a fault. */
  readonly always: boolean;
  /** Index of the latest earlier step of the same signal, which has to come before; null where there is none. */
  readonly after: number | null;
}

export interface SequencePlan {
  readonly sequence: MapSequence;
  /** By the time they come. */
  readonly steps: readonly StepPlan[];
  /** Steps that cannot be checked, for a comment. */
  readonly unchecked: readonly string[];
}

/** Guesses: half of the window's width on either side, at least two frames and 20 ms. */
const WIDER = 0.5;
const LEAST_FRAMES = 2;
const LEAST_MS = 20;
const MOST_US = 2 ** 31 - 1;

const marginMs = ([low, high]: readonly [number, number], { timing }: MapFrame): number =>
  Math.max(LEAST_MS, LEAST_FRAMES * (timing.periodMs ?? 0), WIDER * (high - low));

function windowOf(delayMs: readonly [number, number], frame: MapFrame): { lowUs: number; highUs: number } {
  const margin = marginMs(delayMs, frame);
  const us = (ms: number): number => Math.min(MOST_US, Math.max(0, Math.round(ms * 1000)));
  return { lowUs: us(delayMs[0] - margin), highUs: us(delayMs[1] + margin) };
}

type Found = Omit<StepPlan, 'after'>;

function fieldSteps({ steps, n }: MapSequence, frames: readonly MapFrame[]): (Found | string)[] {
  return steps.map(({ bus, id, signal: name, from, to, delayMs, seen }) => {
    const holders = frames.filter((frame) => frame.bus === bus && frame.id === id);
    const frame = holders.find(({ signals }) => signals.some((signal) => signal.name === name));
    const signal = frame?.signals.find((one) => one.name === name);
    if (!frame || !signal) return `${bus} ${id} ${name}: not in the map`;
    if (placementLength(signal) > 64) return `${bus} ${id} ${name}: wider than 64 bits`;
    const takes = { signal, from: bigOf(from), to: bigOf(to) };
    return { frame, takes, ...windowOf(delayMs, frame), delayMs, seen, always: seen >= n };
  });
}

function beginnings({ presence = [], n }: MapSequence, frames: readonly MapFrame[]): (Found | string)[] {
  return presence.map(({ bus, id, what, delayMs, seen }) => {
    const frame = frames.find((one) => one.bus === bus && one.id === id);
    if (!frame) return `${bus} ${id}: not in the map`;
    if (what !== 'begins') return `${bus} ${id} falls silent: its timeout tells`;
    return { frame, takes: null, ...windowOf(delayMs, frame), delayMs, seen, always: seen >= n };
  });
}

const sameTeller = (a: Found, b: Found): boolean => a.frame === b.frame && a.takes?.signal === b.takes?.signal;

export function planSequence(sequence: MapSequence, frames: readonly MapFrame[]): SequencePlan {
  const all = [...fieldSteps(sequence, frames), ...beginnings(sequence, frames)];
  const inOrder = all
    .filter((step): step is Found => typeof step !== 'string')
    .sort((a, b) => a.delayMs[0] - b.delayMs[0] || a.delayMs[1] - b.delayMs[1]);
  const steps = inOrder.map((step, i) => {
    const before = inOrder.slice(0, i).findLastIndex((one) => sameTeller(one, step));
    return { ...step, after: before < 0 ? null : before };
  });
  return { sequence, steps, unchecked: all.filter((step) => typeof step === 'string') };
}
