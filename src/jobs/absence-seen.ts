/** What a comparison with a module missing says, in the shape that the keep-alive plan takes: pure, for page and command line alike. */
import type { AbsenceSeen } from '../handover/needs/absences.ts';
import type { CaptureObservations } from '../handover/needs/observe/types.ts';
import type { FrameKey } from '../handover/needs/types.ts';
import type { Comparison } from '../proof/compare/types.ts';

export interface AbsenceInput {
  /** What was missing, as the person calls it. */
  readonly name: string;
  /** Seconds that the capture without it lasts. */
  readonly lastsS: number;
  /** First: a capture with it; second: the one without. */
  readonly comparison: Comparison;
  /** Of the one without. */
  readonly observations: CaptureObservations;
  /** Bus of the map -> bus of the first capture, where they are called otherwise. */
  readonly busMap?: Readonly<Record<string, string | null>>;
}

export function absenceSeen({ name, lastsS, comparison, observations, busMap = {} }: AbsenceInput): AbsenceSeen {
  const called = new Map(Object.entries(busMap).flatMap(([own, other]) => (other === null ? [] : [[other, own]])));
  const keyOf = ({ bus, id, extended }: FrameKey): FrameKey => ({ bus: called.get(bus) ?? bus, id, extended });
  const { sentBy, copies, undecided, reacts } = comparison.absent;
  return {
    name,
    capture: observations.capture,
    lastsS,
    missing: [...sentBy, ...copies].map(keyOf),
    undecided: undecided.map(keyOf),
    reactions: reacts.map(({ how, confidence, why, ...key }) => ({ ...keyOf(key), how, confidence, words: why })),
    observations,
  };
}
