/** What is open in Handover, and whether the cautions were read for the map as it stands. */
import { create } from 'zustand';
import type { OutputName } from './output.ts';

interface HandoverState {
  readonly output: OutputName;
  /** Drawn, or as the files have it. */
  readonly shows: 'drawn' | 'text';
  /** The cautions that were ticked, as their words: others, or more of them, have to be read again. */
  readonly read: string | null;
  /** The file that is open of each output, by its name. */
  readonly files: Readonly<Partial<Record<OutputName, string>>>;
  /** In the keep-alive plan: the frame that is held, and how long the drawing is. */
  readonly frame: string | null;
  readonly span: 'short' | 'whole';
  /** The sequence that is drawn, by its name; null: the first. */
  readonly sequence: string | null;
  set(part: Partial<Omit<HandoverState, 'set'>>): void;
}

export const useHandover = create<HandoverState>((set) => ({
  output: 'map',
  shows: 'drawn',
  read: null,
  files: {},
  frame: null,
  span: 'short',
  sequence: null,
  set,
}));

export const wordsOf = (cautions: readonly string[]): string => cautions.join('\n');
