/**
 * The sequences of a capture as a map says them: each step by the name that its signal has there, and by who sends it. A sender that begins or falls
 * silent changes no signal, so it is no step there: it stands in a list of its own beside the steps.
 */
import type { FieldStep, SenderStep, Sequence, SequenceStep } from '../actions/types.ts';
import { isSameWhen } from '../map/pages.ts';
import type { MapFrame, MapPresence, SignalMap } from '../map/schema.ts';
import { samePlace } from './places.ts';
import { isFrame } from './types.ts';

type MapSequence = SignalMap['sequences'][number];
type MapStep = MapSequence['steps'][number];

const told = ({ bus, id, seen, q, delayMs: [low, high] }: SequenceStep, frame: MapFrame) => ({
  bus,
  id,
  group: frame.sender?.group ?? null,
  delayMs: [low, high] as [number, number],
  seen,
  ...(q === null ? {} : { q }),
});

function toStep(step: FieldStep, frames: readonly MapFrame[]): MapStep[] {
  const frame = frames.find((one) => isFrame(one, step));
  const signal = frame?.signals.find((one) => samePlace(step, one) && isSameWhen(step.when, one.when));
  return frame && signal ? [{ ...told(step, frame), signal: signal.name, from: step.from, to: step.to }] : [];
}

function toPresence(step: SenderStep, frames: readonly MapFrame[]): MapPresence[] {
  const frame = frames.find((one) => isFrame(one, step));
  return frame ? [{ ...told(step, frame), what: step.kind }] : [];
}

function toMapSequence({ name, event, n, steps }: Sequence, frames: readonly MapFrame[]): MapSequence {
  const presence = steps.flatMap((step) => (step.kind === 'field' ? [] : toPresence(step, frames)));
  return {
    ...{ name, event, n },
    steps: steps.flatMap((step) => (step.kind === 'field' ? toStep(step, frames) : [])),
    ...(presence.length > 0 ? { presence } : {}),
  };
}

/** Those that have steps. A step whose field a person has changed since is left out. */
export function toMapSequences(sequences: readonly Sequence[], frames: readonly MapFrame[]): MapSequence[] {
  return sequences
    .map((sequence) => toMapSequence(sequence, frames))
    .filter(({ steps, presence = [] }) => steps.length + presence.length > 0);
}
