/** What Marks holds while it is open: the mark that waits for its end, the run card, and what is asked under the tracks. */
import { create } from 'zustand';

interface MarksState {
  /** The mark that the last press of a key made and the next press ends. */
  readonly openMark: string | null;
  /** Off, being edited, or running. */
  readonly runCard: 'off' | 'plan' | 'running';
  /** Under the tracks: whose clock, or what follows an action. */
  readonly below: 'clock' | 'story';
  /** The sequence told, by its name; null: the held action's, else the one that is best known. */
  readonly story: string | null;
  /** The step and the repetition of it that are held. */
  readonly step: string | null;
  readonly repetition: number | null;
  set(part: Partial<Pick<MarksState, 'below' | 'story' | 'step' | 'repetition'>>): void;
  setOpenMark(key: string | null): void;
  setRunCard(state: MarksState['runCard']): void;
}

export const useMarksPlace = create<MarksState>((set) => ({
  openMark: null,
  runCard: 'off',
  below: 'clock',
  story: null,
  step: null,
  repetition: null,
  set: (part) => set(part),
  setOpenMark: (openMark) => set({ openMark }),
  setRunCard: (runCard) => set({ runCard }),
}));
