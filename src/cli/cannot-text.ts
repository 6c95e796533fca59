/** What no controller can produce, as it is said wherever it is first known: before anything else of the kind. */
import type { CannotBeProduced } from '../handover/needs/cannot-be-produced.ts';
import { wrapped } from './text-table.ts';

/** Lines to print; none where everything can be produced. */
export const cannotLines = (all: readonly CannotBeProduced[]): string[] =>
  all.map(({ says }) => wrapped(`cannot be produced: ${says}`, 100, '  '));
