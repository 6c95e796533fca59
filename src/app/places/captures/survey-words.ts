/** A survey's frame as a stream, and its timing in words. */
import type { StreamKey } from '../../../frames/table.ts';
import type { SurveyFrame } from '../../../timing/types.ts';
import { period } from '../../../kit/sheet-figures.ts';

export const keyOf = (frame: SurveyFrame): StreamKey => ({
  bus: frame.bus,
  id: Number(frame.id),
  extended: frame.extended,
  direction: frame.direction,
});

export function timingWords({ timing }: SurveyFrame): string {
  if (timing.kind === 'periodic' || timing.kind === 'mixed') return period(timing.periodMs);
  return { 'on-change': 'on change', reply: 'reply', once: 'once' }[timing.kind];
}
