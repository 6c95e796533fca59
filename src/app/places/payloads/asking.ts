/** The pictures that Payloads and Signals ask of the engine; the newest question wins and the last answer stays up meanwhile. */
import { useMemo } from 'react';
import type { Mark } from '../../../actions/types.ts';
import type { StreamKey } from '../../../frames/table.ts';
import { streamName } from '../../../frames/table.ts';
import type {
  RepetitionShape,
  RepetitionsPicture,
  TracePicture,
  TraceRequest,
  WeavePicture,
  Window,
} from '../../../jobs/engine-types.ts';
import { useReadyEngine } from '../../stores/finding.ts';
import { fingerprint } from '../../stores/findings.ts';
import type { Answer } from '../../stores/questions.ts';
import { useQuestion } from '../../stores/questions.ts';
import { useView } from '../../stores/view.ts';

const COLUMNS_MOST = 4096;

/** The window in view, a column a pixel; null before the sheet is measured. */
function useShownWindow(): Window | null {
  const window = useView((view) => view.window);
  const width = useView((view) => view.timeWidth);
  return useMemo(
    () => (width > 0 ? { fromS: window.fromS, toS: window.toS, columns: Math.min(COLUMNS_MOST, width) } : null),
    [window, width],
  );
}

const windowKey = ({ fromS, toS, columns }: Window): string => `${fromS}:${toS}:${columns}`;
const unasked = (): Promise<never> => Promise.reject(new Error('nothing was asked'));

export function useWeave(stream: StreamKey | null): Answer<WeavePicture> {
  const ready = useReadyEngine();
  const window = useShownWindow();
  const key = ready && window && stream ? `${ready.identity} ${streamName(stream)} ${windowKey(window)}` : null;
  return useQuestion(key, () => (ready && window && stream ? ready.engine.weave(stream, window) : unasked()));
}

export function useTraces(requests: readonly TraceRequest[]): Answer<{
  readonly asked: string;
  readonly pictures: readonly TracePicture[];
}> {
  const ready = useReadyEngine();
  const window = useShownWindow();
  const asked = useMemo(() => fingerprint(requests), [requests]);
  const key = ready && window && requests.length ? `${ready.identity} ${asked} ${windowKey(window)}` : null;
  return useQuestion(key, async () => {
    if (!ready || !window) return unasked();
    return { asked, pictures: await ready.engine.traces(requests, window) };
  });
}

/** Values at the cursor, in the order of the requests; empty without a cursor. */
export function useValuesAtCursor(requests: readonly TraceRequest[]): Answer<readonly number[]> {
  const ready = useReadyEngine();
  const cursorS = useView((view) => view.cursorS);
  const asked = useMemo(() => fingerprint(requests), [requests]);
  const key = ready && cursorS !== null && requests.length ? `${ready.identity} ${asked} at ${cursorS}` : null;
  return useQuestion(key, () => (ready && cursorS !== null ? ready.engine.valuesAt(requests, cursorS) : unasked()));
}

export function useRepetitions(
  request: TraceRequest | null,
  marks: readonly Mark[],
  shape: RepetitionShape,
): Answer<RepetitionsPicture> {
  const ready = useReadyEngine();
  const asked = useMemo(() => (request ? fingerprint([request, marks, shape]) : null), [request, marks, shape]);
  const key = ready && asked && marks.length ? `${ready.identity} ${asked}` : null;
  return useQuestion(key, () => (ready && request ? ready.engine.repetitions(request, marks, shape) : unasked()));
}

/** [instants] the value held at each instant, in one question; NaN before the first frame and in silences. */
export function useSamples(request: TraceRequest | null, instantsS: readonly number[]): Answer<Float32Array> {
  const ready = useReadyEngine();
  const asked = useMemo(() => (request ? fingerprint([request, instantsS]) : null), [request, instantsS]);
  const key = ready && asked && instantsS.length ? `${ready.identity} ${asked}` : null;
  return useQuestion(key, async () => {
    if (!ready || !request) return unasked();
    // A mark a sample, with one narrow column whose middle is the instant itself.
    const half = 1e-6;
    const marks = instantsS.map((startS) => ({ action: 'sample', startS, endS: null }));
    const picture = await ready.engine.repetitions(request, marks, { beforeS: half, afterS: half, columns: 1 });
    return picture.values;
  });
}
