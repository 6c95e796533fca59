/** Whether the window is as narrow as a phone: one column, names above pictures, targets for thumbs. */
import { useSyncExternalStore } from 'react';

const narrow = matchMedia('(max-width: 919px)');
const subscribe = (listener: () => void): (() => void) => {
  narrow.addEventListener('change', listener);
  return () => narrow.removeEventListener('change', listener);
};
export const useNarrow = (): boolean => useSyncExternalStore(subscribe, () => narrow.matches);
