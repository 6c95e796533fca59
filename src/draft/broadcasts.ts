/**
 * What a tester asks, and what answers it, are no broadcasts: their bytes mean something only together with the question (ISO 14229-1), so
 * no answer to an action, no fit and no signal is looked for there. Their readings serve as references instead.
 */
import { isByHand } from '../map/evidence.ts';
import type { MapFrame } from '../map/schema.ts';
import type { DiagnosticsReport } from '../reference/diagnostics/report.ts';
import { isFrame, type FrameKey } from './types.ts';

export interface Parted<Finding> {
  /** What is sent to all; the very same list where no tester speaks. */
  readonly broadcasts: readonly Finding[];
  /** Of a tester and of what answers it. */
  readonly asked: readonly Finding[];
}

/** Frames of a tester and of what answers it. */
export const askedOf = ({ conversations }: Pick<DiagnosticsReport, 'conversations'>): FrameKey[] =>
  conversations.flatMap(({ bus, requests, answers }) =>
    [...requests, ...answers].map(({ id, extended }) => ({ bus, id, extended })),
  );

/** report: as `diagnosticsOf` tells it of the capture. */
export function partAsked<Finding extends FrameKey>(
  report: Pick<DiagnosticsReport, 'conversations'>,
  findings: readonly Finding[],
): Parted<Finding> {
  const keys = askedOf(report);
  if (keys.length === 0) return { broadcasts: findings, asked: [] };
  const isAsked = (finding: Finding): boolean => keys.some((key) => isFrame(finding, key));
  return { broadcasts: findings.filter((each) => !isAsked(each)), asked: findings.filter(isAsked) };
}

/** Such a frame in a map: what finders saw in its bytes belongs to no broadcast, what a person placed there stays. */
export const asAsked = (frame: MapFrame): MapFrame => ({
  ...frame,
  role: 'other',
  counters: [],
  checksums: [],
  selectors: [],
  signals: frame.signals.filter(isByHand),
  unclaimed: [],
});
