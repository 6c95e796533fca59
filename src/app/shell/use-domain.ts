/** Keeps the ruler's extent that of what is open: the capture read so far, or the marks where there is no recording. */
import { useEffect } from 'react';
import { applyPendingSpan } from '../stores/address.ts';
import { useCurrentCapture, useRulerMarks } from '../stores/asking.ts';
import { useView } from '../stores/view.ts';

const SHORTEST_WITHOUT_CAPTURE_S = 60;

export function useDomain(): void {
  const current = useCurrentCapture();
  const { marks } = useRulerMarks();
  const phase = current?.open.phase;
  const lastMark = marks.reduce((latest, { startS, endS }) => Math.max(latest, endS ?? startS), 0);
  const read = current?.open.summary?.durationS ?? current?.open.progress?.reachedS ?? 0;
  const id = current?.entry.id;
  useEffect(() => {
    const { setDomain } = useView.getState();
    if (phase === 'ready' || phase === 'reading') setDomain(0, Math.max(read, 0.1));
    else setDomain(0, Math.max(SHORTEST_WITHOUT_CAPTURE_S, lastMark * 1.05));
    if (phase === 'ready') applyPendingSpan();
  }, [id, phase, read, lastMark]);
}
