/** Profiles of the captures that are compared, each from the worker that owns its frames, and what they say together, worked out in a worker too. */
import { useCallback, useEffect, useMemo } from 'react';
import type { Engine } from '../../jobs/engine-types.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import type { Comparison } from '../../proof/compare/types.ts';
import { useCaptures, type CapturePhase } from '../stores/captures.ts';
import { useDossier } from '../stores/dossier.ts';
import { ensureFinding, findingKey, useFindings, type Slot } from '../stores/findings.ts';
import { useView } from '../stores/view.ts';
import { sidesOf, useComparisonChoice, type Side } from './store.ts';

export interface AskedProfile {
  readonly profile: ComparisonProfile | null;
  /** Of its capture; null where there is none. */
  readonly phase: CapturePhase | null;
  readonly slot: Slot | null;
  /** Of its capture's content, its finding's name, and the engine that answers for it; null until it has been read. */
  readonly digest: string | null;
  readonly key: string | null;
  readonly engine: Engine | null;
}

/** Asked only while `wanted`; kept by the capture's digest and the span, here and in this browser. */
export function useProfile(side: Side | null, wanted: boolean): AskedProfile {
  const open = useCaptures((state) => state.open.find(({ id }) => id === side?.captureId));
  const trim = useDossier(({ dossier }) => dossier.captures.find(({ id }) => id === side?.captureId)?.trim) ?? null;
  const ready = open?.phase === 'ready';
  const digest = ready ? (open.summary?.digest ?? null) : null;
  const engine = ready ? open.engine : null;
  const span = side?.span ?? trim;
  const [fromS, toS] = [span?.fromS, span?.toS];
  const key = useMemo(
    () => (digest ? findingKey(digest, 'profile', { fromS: fromS ?? null, toS: toS ?? null }) : null),
    [digest, fromS, toS],
  );
  const slot = useFindings(({ slots }) => (key ? slots[key] : undefined));
  useEffect(() => {
    if (!wanted || !key || !engine) return;
    const asked = fromS === undefined || toS === undefined ? undefined : { fromS, toS };
    ensureFinding(key, () => engine.profile({}, asked));
  }, [wanted, key, engine, fromS, toS]);
  const profile = slot?.state === 'done' ? (slot.value as ComparisonProfile) : null;
  return { profile, phase: open?.phase ?? null, slot: slot ?? null, digest, key, engine };
}

export interface AskedComparison {
  readonly a: AskedProfile;
  readonly b: AskedProfile;
  readonly comparison: Comparison | null;
  readonly slot: Slot | null;
  /** After it was stopped, or failed. */
  again(): void;
}

/** Kept by both profiles' names: the same two are compared once. */
export function useComparisonOf(a: Side | null, b: Side | null, wanted: boolean): AskedComparison {
  const both = wanted && a !== null && b !== null;
  const [one, other] = [useProfile(a, both), useProfile(b, both)];
  const { engine, digest, key: keyA } = one;
  const keyB = other.key;
  const key = useMemo(
    () => (both && digest && keyA && keyB ? findingKey(digest, 'compare', [keyA, keyB]) : null),
    [both, digest, keyA, keyB],
  );
  const slot = useFindings(({ slots }) => (key ? slots[key] : undefined));
  const [first, second] = [one.profile, other.profile];
  const ask = useCallback(() => {
    if (!key || !engine || !first || !second) return;
    const request = { job: 'compare' as const, a: first, b: second };
    ensureFinding(key, (control) => engine.analyse<'compare'>(request, control));
  }, [key, engine, first, second]);
  useEffect(ask, [ask]);
  const again = (): void => {
    if (key) useFindings.getState().forget(key);
    ask();
  };
  const comparison = slot?.state === 'done' ? (slot.value as Comparison) : null;
  return { a: one, b: other, comparison, slot: slot ?? null, again };
}

/** The two sides as they stand in Captures. */
export function useSides(): { readonly a: Side | null; readonly b: Side | null } {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const currentId = useView((view) => view.captureId);
  const chosenA = useComparisonChoice((state) => state.a);
  const chosenB = useComparisonChoice((state) => state.b);
  return useMemo(
    () => sidesOf(captures, currentId, { a: chosenA, b: chosenB }),
    [captures, currentId, chosenA, chosenB],
  );
}

/** What Captures compares; nothing is asked until it is shown. */
export function useComparison(): AskedComparison & { readonly sides: ReturnType<typeof useSides> } {
  const shown = useComparisonChoice((state) => state.shown);
  const sides = useSides();
  return { ...useComparisonOf(sides.a, sides.b, shown), sides };
}
