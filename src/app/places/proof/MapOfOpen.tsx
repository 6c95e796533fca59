/** Puts the map of the open capture together while Proof is open, whatever capture it looks at, and says when nothing would change it any more. */
import { useEffect, type ReactNode } from 'react';
import { LookedAt } from '../../stores/finding.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import { useMap, type MapState } from '../handover/use-map.ts';
import { useProof } from './store.ts';

/** Jobs follow one another with a pause: only when none has begun for so long is the map as good as it gets. */
const QUIET_MS = 900;

function waitsFor({ needed, helpful }: MapState): { readonly waits: string; readonly share: number } {
  const lost = needed.find(({ slot }) => slot?.state === 'failed' || slot?.state === 'stopped');
  if (lost) return { waits: `its fields were not found: ${lost.slot?.note || 'the search was stopped'}`, share: 0 };
  const slot = needed.find((one) => one.slot?.state === 'running')?.slot;
  if (slot) return { waits: `its fields are being found, ${percent(slot.share)}`, share: slot.share };
  const late = helpful.filter((one) => one.slot?.state === 'running');
  const share = Math.min(1, ...late.map((one) => one.slot?.share ?? 0));
  return late.length > 0
    ? { waits: `evidence for it is still coming in, ${percent(share)}`, share }
    : { waits: '', share: 1 };
}

function Published(): null {
  const state = useMap();
  const { unproven: map, map: whole } = state;
  const { waits, share } = waitsFor(state);
  useEffect(() => {
    const { set } = useProof.getState();
    set({ made: { map, whole, settled: false, waits, share } });
    if (!map || waits) return;
    const timer = setTimeout(() => set({ made: { map, whole, settled: true, waits, share } }), QUIET_MS);
    return () => clearTimeout(timer);
  }, [map, whole, waits, share]);
  return null;
}

export const MapOfOpen = (): ReactNode => (
  <LookedAt value={null}>
    <Published />
  </LookedAt>
);
