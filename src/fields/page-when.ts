/** On which pages something lies, as the map says it: by values of the selectors; and on which frames that is. */
import type { When } from '../map/schema.ts';
import type { Leaf } from './page-leaves.ts';

export interface Presence {
  readonly when: When;
  /** "0to3_7", "3_1": after "page" in a name; empty for all pages. */
  readonly label: string;
  /** [n] rows, ascending. */
  readonly rows: readonly number[];
}

/** "0to3_7" for 0, 1, 2, 3, 7. */
function labelOf(values: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const value of values) {
    const last = runs.at(-1);
    if (last && value === last[1] + 1) last[1] = value;
    else runs.push([value, value]);
  }
  return runs.map(([from, to]) => (from === to ? `${from}` : `${from}to${to}`)).join('_');
}

const ascending = (a: number, b: number): number => a - b;
const rowsOf = (leaves: readonly Leaf[]): number[] => leaves.flatMap(({ rows }) => [...rows]).sort(ascending);

function presence(when: Exclude<When, null>, leaves: readonly Leaf[]): Presence {
  const label = Object.values(when).map(labelOf).join('_');
  return { when, label, rows: rowsOf(leaves) };
}

/** By value of the outer selector, the leaves under it. */
function byOuter(leaves: readonly Leaf[]): Map<number, Leaf[]> {
  const found = new Map<number, Leaf[]>();
  for (const leaf of leaves) {
    const value = Object.values(leaf.when)[0]?.[0] as number;
    found.set(value, [...(found.get(value) ?? []), leaf]);
  }
  return found;
}

/** The frames of some leaves: as one condition where one can say it, else as several. */
export function presencesOf(own: readonly Leaf[], all: readonly Leaf[]): Presence[] {
  if (own.length === all.length) return [{ when: null, label: '', rows: rowsOf(own) }];
  const everywhere = byOuter(all);
  const whole: [number, Leaf[]][] = [];
  const found: Presence[] = [];
  const parts = new Map<string, { inner: string; values: number[]; outers: number[]; leaves: Leaf[] }>();
  for (const [value, leaves] of byOuter(own)) {
    if (leaves.length === everywhere.get(value)?.length) whole.push([value, leaves]);
    else {
      const [, inner] = Object.keys(leaves[0]?.when ?? {}) as [string, string];
      const values = leaves.map(({ when }) => when[inner]?.[0] as number).sort(ascending);
      const key = `${inner} ${values.join()}`;
      const alike = parts.get(key) ?? { inner, values, outers: [], leaves: [] };
      parts.set(key, alike);
      alike.outers.push(value);
      alike.leaves.push(...leaves);
    }
  }
  for (const { inner, values, outers, leaves } of parts.values()) {
    const [outer] = Object.keys(leaves[0]?.when ?? {}) as [string];
    found.push(presence({ [outer]: outers.sort(ascending), [inner]: values }, leaves));
  }
  if (whole.length > 0) {
    const [outer] = Object.keys(whole[0]?.[1][0]?.when ?? {}) as [string];
    const values = whole.map(([value]) => value).sort(ascending);
    found.unshift(
      presence(
        { [outer]: values },
        whole.flatMap(([, leaves]) => leaves),
      ),
    );
  }
  return found;
}
