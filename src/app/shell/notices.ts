/** One sentence for the person that does not belong to any place: shown at the foot of the sheet until dismissed, and read out. */
import { create } from 'zustand';

interface NoticeState {
  readonly words: string | null;
  show(words: string | null): void;
}
export const useNotice = create<NoticeState>((set) => ({ words: null, show: (words) => set({ words }) }));
export const say = (words: string): void => useNotice.getState().show(words);
