/**
 * Asks the open capture for what can be sent from a span at rest: the payloads of all frames, or a part of the recording. Held in memory: what is about to be
 * sent is asked for anew by each session, and only the newest question counts.
 */
import { useEffect, useMemo } from 'react';
import { create, type StoreApi, type UseBoundStore } from 'zustand';
import type { ExcerptAnswer } from '../../../../handover/sending/prepare.ts';
import { withMarkedRest } from '../../../../handover/sending/marked-rest.ts';
import type { ExcerptRequest } from '../../../../jobs/analyses/excerpt.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import { Cancelled } from '../../../../kit/control.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useReadyEngine } from '../../../stores/finding.ts';
import { useSpans, type Spans } from './span.ts';

export interface Ask {
  readonly engine: Engine;
  readonly request: ExcerptRequest;
}

interface AskState {
  /** What the answer is of. */
  readonly asked: Ask | null;
  readonly answer: ExcerptAnswer | null;
  /** Why there is none, for a person. */
  readonly failed: string | null;
}
type AskStore = UseBoundStore<StoreApi<AskState>>;

const NOTHING: AskState = { asked: null, answer: null, failed: null };
const QUIET_MS = 200;

const useRest: AskStore = create<AskState>(() => NOTHING);
export const useExcerpt: AskStore = create<AskState>(() => NOTHING);

async function answerOf({ engine, request }: Ask, signal: AbortSignal): Promise<Partial<AskState> | null> {
  try {
    return { answer: await engine.analyse<'excerpt'>(request, { signal }), failed: null };
  } catch (error) {
    if (signal.aborted || error instanceof Cancelled) return null;
    return { answer: null, failed: error instanceof Error ? error.message : String(error) };
  }
}

/** Keeps the store's answer up with the question; the one of before stays until the new one is there. */
export function useAsked(store: AskStore, ask: Ask | null): void {
  useEffect(() => {
    if (!ask) return store.setState(NOTHING);
    const { asked } = store.getState();
    if (asked?.engine === ask.engine && asked.request === ask.request) return;
    const stopping = new AbortController();
    const timer = setTimeout(() => {
      void answerOf(ask, stopping.signal).then((told) => told && store.setState({ ...told, asked: ask }));
    }, QUIET_MS);
    return () => {
      clearTimeout(timer);
      stopping.abort();
    };
  }, [store, ask]);
}

export interface MarkedRest {
  readonly spans: Spans | null;
  readonly answer: ExcerptAnswer | null;
  /** The map with the payloads at rest of the span; null until they are there. */
  readonly map: SignalMap | null;
  readonly waits: boolean;
  readonly failed: string | null;
}

let last: { readonly from: readonly unknown[]; readonly map: SignalMap } | null = null;
/** Place and keys ask for the same map: made once. */
function markedOnce(map: SignalMap, answer: ExcerptAnswer, capture: string): SignalMap {
  const from = [map, answer, capture];
  if (!last || !last.from.every((each, at) => each === from[at]))
    last = { from, map: withMarkedRest(map, answer.rest, capture, answer.span?.mark ?? '') };
  return last.map;
}

let lastAsk: { readonly from: readonly unknown[]; readonly ask: Ask } | null = null;
function restAsk(engine: Engine, map: SignalMap, { chosen, marks }: Spans): Ask | null {
  if (!chosen) return null;
  const { action, number } = chosen;
  const from = [engine, map, marks, action, number];
  if (!lastAsk || !lastAsk.from.every((each, at) => each === from[at])) {
    const request: ExcerptRequest = {
      ...{ job: 'excerpt', map, marks, span: { action, number }, release: [] },
      ...{ kind: 'rest', loops: 1, recount: false, confirm: null },
    };
    lastAsk = { from, ask: { engine, request } };
  }
  return lastAsk.ask;
}

/** The payloads at rest of the chosen span, and the map that has them. */
export function useMarkedRest(map: SignalMap): MarkedRest {
  const spans = useSpans();
  const engine = useReadyEngine()?.engine ?? null;
  const ask = useMemo(() => (engine && spans ? restAsk(engine, map, spans) : null), [engine, spans, map]);
  useAsked(useRest, ask);
  const { asked, answer, failed } = useRest();
  const isOfAsk = ask !== null && asked === ask;
  const isTaken = ask !== null && answer !== null && answer.problems.length === 0;
  return {
    spans,
    answer: ask === null ? null : answer,
    map: isTaken && spans ? markedOnce(map, answer, spans.capture) : null,
    waits: ask !== null && !isOfAsk,
    failed: isOfAsk ? failed : null,
  };
}
