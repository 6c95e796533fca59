/**
 * What is about to be sent. In memory alone: a release for sending holds until the page is closed, and is decided anew by whoever comes after.
 */
import { create } from 'zustand';

export type SendingKind = 'schedule' | 'log' | 'pcapng';

interface SendingState {
  readonly kind: SendingKind;
  readonly loops: number;
  readonly recount: boolean;
  /** Frames released one by one, by name or key. */
  readonly release: readonly string[];
  /** The capture that they were released for: in another one the same name may be another frame. */
  readonly releasedFor: string;
  set(part: Partial<Omit<SendingState, 'set'>>): void;
}

export const useSending = create<SendingState>((set) => ({
  kind: 'schedule',
  loops: 1,
  recount: false,
  release: [],
  releasedFor: '',
  set,
}));

const NOTHING: readonly string[] = [];

/** @param capture the one that is sent from */
export const useReleased = (capture: string): readonly string[] =>
  useSending(({ release, releasedFor }) => (releasedFor === capture ? release : NOTHING));
