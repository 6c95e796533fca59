/**
 * What a tester asks, and what answers it, are no broadcasts: their bytes mean something only together with the question (ISO 14229-1), so
 * no answer to an action, no fit and no signal is looked for there. Their readings serve as references instead.
 */
import type { FrameTable } from '../frames/table.ts';
import { diagnosticsOf } from '../reference/diagnostics/report.ts';
import { isOfStream, type FrameKey } from './types.ts';

export interface Parted<Finding> {
  /** What is sent to all; the very same list where no tester speaks. */
  readonly broadcasts: readonly Finding[];
  /** Of a tester and of what answers it. */
  readonly asked: readonly Finding[];
}

/** Cost: O(frames of streams that may be diagnostics). */
export function partAsked<Finding extends FrameKey>(
  table: Pick<FrameTable, 'streams'>,
  findings: readonly Finding[],
): Parted<Finding> {
  const { streams } = diagnosticsOf(table);
  const isAsked = (finding: Finding): boolean => streams.some((stream) => isOfStream(stream, finding));
  const asked = findings.filter(isAsked);
  return asked.length === 0
    ? { broadcasts: findings, asked }
    : { broadcasts: findings.filter((each) => !isAsked(each)), asked };
}
