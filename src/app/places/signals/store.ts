/** What is held in Signals beside the shared selection: the quantity to fit against, and the dialog that is open. */
import { create } from 'zustand';

interface SignalsState {
  /** A reference, by its key; null: the one that fits the held signal best. */
  readonly quantity: string | null;
  readonly naming: boolean;
  set(part: Partial<Omit<SignalsState, 'set'>>): void;
}

export const useSignals = create<SignalsState>((set) => ({ quantity: null, naming: false, set }));
