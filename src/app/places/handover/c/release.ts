/** Signals that may move the machine: which of them the encoder could set, and which a person let it set. Pure. */
import { mayCommand, whyNotSent } from '../../../../handover/encode-choice.ts';
import type { SignalMap } from '../../../../map/schema.ts';

/** "frame.signal" of all that stay out of the encoder only because nobody released them, in the map's order. */
export const releasable = ({ frames }: SignalMap): readonly string[] =>
  frames.flatMap((frame) =>
    frame.role === 'sent-by-part' || whyNotSent(frame) !== null
      ? []
      : frame.signals.filter(mayCommand).map(({ name }) => `${frame.name}.${name}`),
  );

/** Why a typed name releases nothing; null where it does. */
export function whyNoRelease(typed: string, names: readonly string[], released: readonly string[]): string | null {
  if (released.includes(typed)) return `${typed} is released already.`;
  const answering = names.filter((name) => name === typed).length;
  if (answering > 1)
    return `${answering} signals are called “${typed}”. Give each frame, or signal, a name of its own in the map first.`;
  if (answering === 1) return null;
  return typed === ''
    ? 'Write FRAME.SIGNAL, as the map names them.'
    : `No signal is called “${typed}”. Write FRAME.SIGNAL, exactly as it is listed.`;
}
