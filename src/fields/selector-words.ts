/** A selector as the map names it, why it was taken for one, and which counters are none once it is known. */
import { bitPositions, type Placement } from '../frames/bits.ts';
import type { MapSelector, When } from '../map/schema.ts';
import { placeName } from './describe.ts';
import type { NamedSelector } from './page-leaves.ts';
import { rowsBefore } from './page-gain.ts';
import type { PayloadRows } from './payload-rows.ts';
import { isPageContent, type CounterBits } from './selector-candidates.ts';
import { isOnAll, selectorValues, type SelectorFinding } from './selector-finding.ts';
import type { Explained } from './types.ts';

type Worded = NamedSelector & { readonly why: string };

const nameOf = (finding: SelectorFinding): string => {
  const pages = finding.on[0]?.values ?? [];
  return `selector_${placeName(finding)}${pages.length === 1 ? `_page${pages[0]}` : ''}`;
};

export function selectorOf(finding: SelectorFinding): Worded {
  const { values, saved, listed } = finding;
  const percent = Math.round(100 * saved);
  const together =
    (finding.on[0]?.values.length ?? 0) > 1 ? ' It names the page together with the selector before it.' : '';
  const turns = listed ? 'take turns' : 'come again and again, by no list';
  const why = finding.holdsText
    ? `Its ${values.length} values take turns; on the page of each all other bytes that differ hold characters, and none of them ever moves: a text over ${values.length} pages.`
    : `Its ${values.length} values ${turns}, and frames of equal value are alike: read page by page ` +
      `the other bits take ${percent} % less to write down.${together}`;
  return { ...finding, name: nameOf(finding), why };
}

/** The pages that it stands on; null: on all frames. */
export function pagesOf(finding: SelectorFinding, outer: NamedSelector): When {
  const pages = finding.on[0]?.values;
  return !pages || isOnAll(finding, outer) ? null : { [outer.name]: [...pages] };
}

/** confidence: 0..1 */
export function toMapSelector(finding: Worded, outer: Worded, confidence: number): Explained<MapSelector> {
  const { name, lsb, length, order, why } = finding;
  const when = pagesOf(finding, outer);
  return { name, lsb: { ...lsb }, length, order, ...(when ? { when } : {}), confidence, why };
}

/** Whether a counter is one beside the pages: neither a selector's bits nor what names the page again on each. */
export function goesOnOverPages(
  rows: PayloadRows,
  counter: CounterBits,
  selectors: readonly SelectorFinding[],
): boolean {
  const outer = selectors[0];
  if (!outer) return true;
  const own = new Set(bitPositions(counter));
  if (selectors.some((each) => bitPositions(each as Placement).some((at) => own.has(at)))) return false;
  return !isPageContent(rows, counter, rowsBefore(selectorValues(rows, outer)));
}
