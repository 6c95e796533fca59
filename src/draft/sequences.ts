/**
 * The sequences of a capture as a map says them: each step by the name that its signal has there, and by who sends it. Of a sender that begins or falls silent there is no
 * signal: the name is empty, and the value is 1 while its frame is sent, 0 while it is not.
 */
import type { FieldStep, SenderStep, Sequence, SequenceStep } from '../actions/types.ts';
import { isSameWhen } from '../map/pages.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { samePlace } from './places.ts';
import { isFrame } from './types.ts';

type MapSequence = SignalMap['sequences'][number];
type What = Pick<MapSequence['steps'][number], 'signal' | 'from' | 'to'>;

function fieldWhat(step: FieldStep, { signals }: MapFrame): What | null {
  const signal = signals.find((one) => samePlace(step, one) && isSameWhen(step.when, one.when));
  return signal ? { signal: signal.name, from: step.from, to: step.to } : null;
}

const senderWhat = ({ kind }: SenderStep): What =>
  kind === 'begins' ? { signal: '', from: 0, to: 1 } : { signal: '', from: 1, to: 0 };

function toStep(step: SequenceStep, frames: readonly MapFrame[]): MapSequence['steps'] {
  const frame = frames.find((one) => isFrame(one, step));
  const what = frame && (step.kind === 'field' ? fieldWhat(step, frame) : senderWhat(step));
  if (!frame || !what) return [];
  const { bus, id, seen, q } = step;
  const [low, high] = step.delayMs;
  const group = frame.sender?.group ?? null;
  return [{ bus, id, ...what, group, delayMs: [low, high], seen, ...(q === null ? {} : { q }) }];
}

/** Those that have steps. A step whose field a person has changed since is left out. */
export function toMapSequences(sequences: readonly Sequence[], frames: readonly MapFrame[]): MapSequence[] {
  return sequences
    .map(({ name, event, n, steps }) => ({ name, event, n, steps: steps.flatMap((step) => toStep(step, frames)) }))
    .filter(({ steps }) => steps.length > 0);
}
