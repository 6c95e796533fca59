/** What is open in Handover, and whether the cautions were read for the map as it stands. */
import { create } from 'zustand';
import type { OutputName } from './outputs.ts';

interface HandoverState {
  readonly output: OutputName;
  readonly shows: 'drawn' | 'text';
  /** The cautions that were ticked, as their words: others, or more of them, have to be read again. */
  readonly read: string | null;
  set(part: Partial<Omit<HandoverState, 'set'>>): void;
}

export const useHandover = create<HandoverState>((set) => ({ output: 'map', shows: 'drawn', read: null, set }));

export const wordsOf = (cautions: readonly string[]): string => cautions.join('\n');
