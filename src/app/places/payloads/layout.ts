/** The weave's layout as the place and its panel share it: how much height there is, and what folds. */
import { useMemo, useSyncExternalStore } from 'react';
import { create } from 'zustand';
import type { WeaveLayout } from '../../pictures/weave-layout.ts';
import { layoutWeave } from '../../pictures/weave-layout.ts';
import type { Held } from './held.ts';
import { usePayloads } from './store.ts';

export const HEAD_HEIGHT = 40;
const TOOLS_HEIGHT = 40;
export const TRACE_HEIGHT = 60;
export const TRACES_SHOWN = 3;
const LEAST_WEAVE = 260;
const PHONE_WEAVE = 420;

/** Height of the place in CSS px, measured by the place itself. */
export const usePlaceHeight = create<{ readonly height: number; set(height: number): void }>((set) => ({
  height: 0,
  set: (height) => set({ height }),
}));

function useMedia(query: string): boolean {
  return useSyncExternalStore(
    (listener) => {
      const list = matchMedia(query);
      list.addEventListener('change', listener);
      return () => list.removeEventListener('change', listener);
    },
    () => matchMedia(query).matches,
  );
}
/** The panel stands beside the weave, so that labels can stand at their threads. */
export const useWide = (): boolean => useMedia('(min-width: 1200px)');
export const usePhone = (): boolean => useMedia('(max-width: 919px)');

export function useWeaveLayout({ stream, findings }: Held): WeaveLayout {
  const height = usePlaceHeight((state) => state.height);
  const phone = usePhone();
  const openByte = usePayloads((state) => state.openByte);
  const bytes = Math.max(stream?.length ?? 0, findings?.bits.bytes ?? 0);
  return useMemo(() => {
    const rest = HEAD_HEIGHT + TOOLS_HEIGHT + TRACES_SHOWN * TRACE_HEIGHT + 20;
    const available = phone ? PHONE_WEAVE : Math.max(LEAST_WEAVE, height - rest);
    const moves = (byte: number): boolean =>
      !findings || findings.bits.changeShare.slice(byte * 8, byte * 8 + 8).some((share) => share > 0);
    return layoutWeave({ bytes, available, moves, openByte });
  }, [bytes, findings, height, phone, openByte]);
}
