/** Keeps the ruler's extent that of what is open: the capture read so far, or the marks where there is no recording. */
import { useEffect } from 'react';
import { applyPendingSpan } from '../stores/address.ts';
import { useRulerMarks } from '../stores/asking.ts';
import { useCurrentCapture } from '../stores/finding.ts';
import type { OpenCapture } from '../stores/captures.ts';
import { useView } from '../stores/view.ts';

const SHORTEST_WITHOUT_CAPTURE_S = 60;
/** A single frame lasts no time; the ruler still needs some. */
const SHORTEST_S = 0.002;
/** Room before the first mark, as a share of all. */
const EDGE = 0.02;

export function useDomain(): void {
  const current = useCurrentCapture();
  const { marks } = useRulerMarks();
  const phase = current?.open.phase;
  const lastMark = marks.reduce((latest, { startS, endS }) => Math.max(latest, endS ?? startS), 0);
  const read = current?.open.summary?.durationS ?? current?.open.progress?.reachedS ?? 0;
  const id = current?.entry.id;
  const expected = current?.open.phase === 'reading' ? expectedEnd(current.open) : read;
  useEffect(() => {
    useView.getState().lookAt(id ?? null);
    const { setDomain } = useView.getState();
    if (phase === 'ready') setDomain(0, Math.max(read, SHORTEST_S));
    else if (phase === 'reading') setDomain(0, Math.max(expected, SHORTEST_S));
    else {
      const lastsS = Math.max(SHORTEST_WITHOUT_CAPTURE_S, lastMark * 1.05);
      setDomain(phase === 'unrecorded' ? -EDGE * lastsS : 0, lastsS);
    }
    if (phase === 'ready') applyPendingSpan(id ?? null);
  }, [id, phase, read, expected, lastMark]);
}

/**
 * Where reading will end, as far as the share read so far tells; rounded up to steps of an eighth, so that the ruler holds
 * still while the picture grows.
 */
function expectedEnd({ progress }: OpenCapture): number {
  if (!progress?.bytesRead) return 0;
  const guess = (progress.reachedS * progress.bytesTotal) / progress.bytesRead;
  const step = 2 ** Math.ceil(Math.log2(Math.max(guess, 0.01)) - 3);
  return Math.max(progress.reachedS, Math.ceil(guess / step) * step);
}
