/**
 * What is about to be sent. In memory alone: a release for sending holds until the page is closed, and is decided anew by whoever comes after.
 */
import { create } from 'zustand';

export type SendingKind = 'schedule' | 'log' | 'pcapng';

interface SendingState {
  readonly kind: SendingKind;
  readonly loops: number;
  readonly recount: boolean;
  /** Frames released one by one, by their key. */
  readonly release: readonly string[];
  /** What was typed to confirm. */
  readonly typed: string;
  set(part: Partial<Omit<SendingState, 'set'>>): void;
}

export const useSending = create<SendingState>((set) => ({
  kind: 'schedule',
  loops: 1,
  recount: false,
  release: [],
  typed: '',
  set,
}));
