/** Small makers of what captures show, for tests of the plan: everything not given was not seen. */
import type { AbsenceSeen } from '../../../src/handover/needs/absences.ts';
import type { CaptureObservations, FrameSeen, LostCode } from '../../../src/handover/needs/observe/types.ts';
import type { FrameKey } from '../../../src/handover/needs/types.ts';

export const keyOf = (id: string, bus = 'can0'): FrameKey => ({ bus, id, extended: false });

export const seenFrame = (id: string, more: Partial<FrameSeen> = {}): FrameSeen => ({
  ...keyOf(id),
  count: 1000,
  periodMs: 10,
  mode: null,
  phase: null,
  phaseWhy: 'not asked',
  starts: [],
  network: null,
  ...more,
});

/** First frames after wakings 0, 1, ... of its capture, ms after the first on the bus. */
export const startsAt = (...delaysMs: readonly number[]): Pick<FrameSeen, 'starts'> => ({
  starts: delaysMs.map((delayMs, waking) => ({ waking, delayMs })),
});

export const observed = (
  frames: readonly FrameSeen[],
  more: Partial<CaptureObservations> = {},
): CaptureObservations => ({
  capture: 'c1',
  wakings: [],
  frames,
  lostCodes: [],
  askedForFaults: [],
  unlocks: [],
  pairings: [],
  ...more,
});

export const lostCode = (id: string, code: string, isFailing = true): LostCode => ({
  ...keyOf(id),
  code,
  isFailing,
  isConfirmed: true,
  atS: 40,
});

export const absence = (missing: readonly string[], more: Partial<AbsenceSeen> = {}): AbsenceSeen => ({
  name: 'brake',
  capture: 'without brake',
  lastsS: 60,
  missing: missing.map((id) => keyOf(id)),
  undecided: [],
  reactions: [],
  observations: observed([seenFrame('0x1F4')], { capture: 'without brake' }),
  ...more,
});
