/**
 * Writes into the map what the plan has shown: a need that stood as untested, and the captures that show it. What a bench trial or a person wrote is
 * never touched, and a reason that speaks of one frame among several sets nothing.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { Evidence, MapFrame, SignalMap } from '../../map/schema.ts';
import type { KeepAlivePlan, PlannedFrame } from './types.ts';

function shownNeed({ frame, need, reasons }: PlannedFrame): MapFrame['need'] | null {
  if (frame.need.verdict !== 'untested' || need === 'untested') return null;
  const showing = reasons.filter(({ kind }) => kind === 'lost-communication-code' || kind === 'absence');
  const [first] = showing;
  if (!first) return null;
  const evidence = showing.map(({ kind, capture, words }): Evidence => ({
    kind: 'cross-check',
    ...(capture === undefined ? {} : { capture }),
    what: kind,
    words,
  }));
  const how = first.kind === 'lost-communication-code' ? 'lost-communication-code' : 'absence';
  return { verdict: need, how, evidence };
}

export function withNeeds(map: SignalMap, plan: KeepAlivePlan): SignalMap {
  const shown = new Map(
    plan.frames.flatMap((planned) => {
      const need = shownNeed(planned);
      return need ? [[frameKey(planned.frame), need] as const] : [];
    }),
  );
  if (shown.size === 0) return map;
  return {
    ...map,
    frames: map.frames.map((frame) => ({ ...frame, need: shown.get(frameKey(frame)) ?? frame.need })),
  };
}
