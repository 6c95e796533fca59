/** The spans of pages as findings: each with the pages that hold it, and judged beside the others on the same frames. */
import { confidenceOf, confidenceOnPages } from './confidence.ts';
import { describeSpan, placeName } from './describe.ts';
import { leftBy } from './mask.ts';
import { asCell } from './page-cells.ts';
import type { PagedSpan, PageDivision } from './page-division.ts';
import type { Leaf } from './page-leaves.ts';
import { presencesOf } from './page-when.ts';
import { chainRows, type PayloadRows } from './payload-rows.ts';
import { surestOn } from './selector-confidence.ts';
import { surroundingsOf } from './surroundings.ts';
import type { FieldFinding, Watch } from './types.ts';

type Presence = ReturnType<typeof presencesOf>[number];

/** Spans that lie on the same frames. */
interface Together {
  readonly presence: Presence;
  readonly spans: PagedSpan[];
}

function groupByFrames(spans: readonly PagedSpan[], leaves: readonly Leaf[]): Together[] {
  const groups = new Map<string, Together>();
  for (const each of spans) {
    const own = each.leaves.map((leaf) => leaves[leaf] as Leaf);
    for (const presence of presencesOf(own, leaves)) {
      const key = JSON.stringify(presence.when);
      const group = groups.get(key) ?? { presence, spans: [] };
      groups.set(key, group);
      group.spans.push(each);
    }
  }
  return [...groups.values()];
}

export interface JudgedBy {
  /** By name, how sure the selectors are. */
  readonly sure: ReadonlyMap<string, number>;
  readonly watch?: Watch | undefined;
}

/**
 * free: [bytes] bits that moved and that no guard or selector holds
 * @returns those on the same frames together
 */
export function findingsOfPages(
  rows: PayloadRows,
  leaves: readonly Leaf[],
  { spans, plainBits, savedBits }: PageDivision,
  free: Uint8Array,
  { sure, watch }: JudgedBy,
): FieldFinding[] {
  const noise = leftBy(
    free,
    spans.map(({ span }) => span),
  );
  const savedShare = savedBits / Math.max(1, plainBits);
  return groupByFrames(spans, leaves).flatMap(({ presence: { when, label, rows: numbers }, spans: together }) => {
    const own = when === null ? rows : chainRows(rows, numbers);
    const around = surroundingsOf(
      own,
      together.map(({ span }) => span),
      free,
      noise,
    );
    return together.map(({ span, list }, index): FieldFinding => {
      const name = label === '' ? placeName(span) : `${placeName(span)}_page${label}`;
      const beside = around[index]!;
      const field = describeSpan(span, own, name, when, (stepShare) =>
        when === null
          ? confidenceOf(span, beside, stepShare, watch)
          : confidenceOnPages(span, beside, stepShare, { when, savedShare }, watch),
      );
      const found = list ? asCell(field, list) : field;
      return { ...found, confidence: Math.min(found.confidence, surestOn(when, sure)) };
    });
  });
}
