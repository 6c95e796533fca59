/** The sequences of a capture as a map says them: each step by the name that its signal has there, and by who sends it. */
import type { Sequence, SequenceStep } from '../actions/types.ts';
import { isSameWhen } from '../map/pages.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { samePlace } from './places.ts';
import { isFrame } from './types.ts';

type MapSequence = SignalMap['sequences'][number];

function toStep(step: SequenceStep, frames: readonly MapFrame[]): MapSequence['steps'] {
  const frame = frames.find((one) => isFrame(one, step));
  const signal = frame?.signals.find((one) => samePlace(step, one) && isSameWhen(step.when, one.when));
  if (!frame || !signal) return [];
  const { bus, id, from, to, seen, q } = step;
  const [low, high] = step.delayMs;
  return [
    {
      bus,
      id,
      signal: signal.name,
      from,
      to,
      group: frame.sender?.group ?? null,
      delayMs: [low, high],
      seen,
      ...(q === null ? {} : { q }),
    },
  ];
}

/** Those that have steps. A step whose field a person has changed since is left out. */
export function toMapSequences(sequences: readonly Sequence[], frames: readonly MapFrame[]): MapSequence[] {
  return sequences
    .map(({ name, event, n, steps }) => ({ name, event, n, steps: steps.flatMap((step) => toStep(step, frames)) }))
    .filter(({ steps }) => steps.length > 0);
}
