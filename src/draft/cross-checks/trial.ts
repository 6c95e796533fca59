/** A law that was tried on some fields, before q says which may be claimed. */
import type { CrossCheck } from './types.ts';

export interface Trial extends Omit<CrossCheck, 'q' | 'why'> {
  /** Whether what is left open is small enough for the law; p is 1 where it is not. */
  readonly holds: boolean;
}
