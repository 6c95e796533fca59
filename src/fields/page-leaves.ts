/** Pages as they are read: the frames on which one value of the selector, and of one within its page, stands. */
import type { Piece } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';
import { leftBy } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';
import { selectorValues, type SelectorFinding } from './selector-finding.ts';

export type NamedSelector = SelectorFinding & { readonly name: string };

export interface Leaf {
  readonly when: Exclude<When, null>;
  /** "3", or "7_0" for page 0 within page 7. */
  readonly label: string;
  /** The selectors that its frames are read by. */
  readonly selectors: readonly Piece[];
  /** [rows] its number among the leaves; one array for all of them. */
  readonly rows: readonly number[];
}

/** selectors: the outer one first, then those within its pages. */
export function leavesOf(rows: PayloadRows, selectors: readonly NamedSelector[]): Leaf[] {
  const outer = selectors[0] as NamedSelector;
  const pages = selectorValues(rows, outer);
  const found = new Map<string, Leaf & { rows: number[] }>();
  const inners = new Map(
    selectors.slice(1).flatMap((inner) => {
      const values = selectorValues(rows, inner);
      return (inner.on[0]?.values ?? []).map((page) => [page, { inner, values }] as const);
    }),
  );
  pages.forEach((page, row) => {
    const own = inners.get(page);
    const within = own?.values[row] as number;
    const label = own ? `${page}_${within}` : `${page}`;
    let leaf = found.get(label);
    if (!leaf) {
      const when = own ? { [outer.name]: [page], [own.inner.name]: [within] } : { [outer.name]: [page] };
      found.set(label, (leaf = { when, label, selectors: own ? [outer, own.inner] : [outer], rows: [] }));
    }
    leaf.rows.push(row);
  });
  const order = (leaf: Leaf): number =>
    Object.values(leaf.when).reduce((sum, values) => sum * 256 + (values[0] as number), 0) /
    256 ** Object.keys(leaf.when).length;
  return [...found.values()].sort((a, b) => order(a) - order(b));
}

/** [bytes] the mask without the bits of the leaf's selectors. */
export const besideSelectors = (mask: Uint8Array, leaf: Leaf): Uint8Array => leftBy(mask, leaf.selectors);
