/** Which span of modes is held, by where it begins: the same in every place, forgotten with the page. */
import { create } from 'zustand';

interface HeldMode {
  readonly fromS: number | null;
}
export const useHeldMode = create<HeldMode>(() => ({ fromS: null }));

/** @param fromS of the span; null lets go */
export const holdMode = (fromS: number | null): void => useHeldMode.setState({ fromS });
