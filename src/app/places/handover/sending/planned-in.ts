/** The plan over a map with other payloads at rest: the same frames, as that map has them. Pure. */
import { frameKey } from '../../../../map/identifiers.ts';
import type { KeepAlivePlan } from '../../../../handover/needs/types.ts';
import type { SignalMap } from '../../../../map/schema.ts';

export function planIn(plan: KeepAlivePlan, map: SignalMap): KeepAlivePlan {
  const byKey = new Map(map.frames.map((frame) => [frameKey(frame), frame]));
  const frames = plan.frames.map((planned) => ({
    ...planned,
    frame: byKey.get(frameKey(planned.frame)) ?? planned.frame,
  }));
  return { ...plan, frames };
}
