/** What Marks holds while it is open: the mark that waits for its end, and whether the run card is on. */
import { create } from 'zustand';

interface MarksState {
  /** The mark that the last press of a key made and the next press ends. */
  readonly openMark: string | null;
  /** Off, being edited, or running. */
  readonly runCard: 'off' | 'plan' | 'running';
  setOpenMark(key: string | null): void;
  setRunCard(state: MarksState['runCard']): void;
}

export const useMarksPlace = create<MarksState>((set) => ({
  openMark: null,
  runCard: 'off',
  setOpenMark: (openMark) => set({ openMark }),
  setRunCard: (runCard) => set({ runCard }),
}));
