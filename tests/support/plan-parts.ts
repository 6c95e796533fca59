/** A planned frame for tests: untested, nothing known of when it is sent. */
import type { PlannedFrame } from '../../src/handover/needs/types.ts';
import type { MapFrame } from '../../src/map/schema.ts';

export const planned = (frame: MapFrame, part: Partial<PlannedFrame> = {}): PlannedFrame => ({
  frame,
  periodMs: frame.timing.periodMs,
  phaseMs: null,
  phaseWhy: '',
  firstAfterWakeMs: null,
  order: null,
  need: 'untested',
  reasons: [],
  whyNotProduced: null,
  mayCommand: [],
  ...part,
});
