/**
 * The layouts that a frame with pages takes, one for each shape: pages whose bits are cut alike share a drawing. An atom is one raw value
 * for each selector that some claim names.
 */
import type { MapFrame, When } from '../../../map/schema.ts';
import { bitsOf, claimsOf, type Claim } from './claims.ts';

/** One raw value a selector. */
export type Atom = Readonly<Record<string, number>>;

export interface PageLayout {
  /** All atoms with this layout; empty where the frame has no pages. */
  readonly pages: readonly Atom[];
  /** What holds on the first of them. */
  readonly claims: readonly Claim[];
}

/** Beyond so many pages of one condition they are not told apart. */
const ATOMS_MOST = 1024;

function atomsOf(when: When): Atom[] {
  const size = Object.values(when ?? {}).reduce((product, values) => product * values.length, 1);
  if (size > ATOMS_MOST) return [];
  return Object.entries(when ?? {}).reduce<Atom[]>(
    (atoms, [name, values]) => atoms.flatMap((atom) => values.map((value) => ({ ...atom, [name]: value }))),
    [{}],
  );
}

const written = (atom: Atom): string =>
  JSON.stringify(Object.entries(atom).sort(([one], [other]) => (one < other ? -1 : 1)));
const isWithin = (small: Atom, large: Atom): boolean =>
  Object.entries(small).every(([name, value]) => large[name] === value);
const holdsOn = (when: When, atom: Atom): boolean =>
  Object.entries(when ?? {}).every(([name, values]) => {
    const value = atom[name];
    return value !== undefined && values.includes(value);
  });

/** The most particular ones: a page that is cut further by a second selector stands as its parts. */
function leaves(all: readonly Atom[]): Atom[] {
  const distinct = [...new Map(all.map((atom) => [written(atom), atom])).values()];
  const deepest = Math.max(0, ...distinct.map((atom) => Object.keys(atom).length));
  return distinct.filter(
    (atom) =>
      Object.keys(atom).length === deepest ||
      !distinct.some(
        (other) => other !== atom && Object.keys(other).length > Object.keys(atom).length && isWithin(atom, other),
      ),
  );
}

const shapeOf = (claims: readonly Claim[], frame: MapFrame): string =>
  claims.map((claim) => `${claim.kind} ${bitsOf(claim, frame).join()}`).join(';');

export function pageLayouts(frame: MapFrame): PageLayout[] {
  const claims = claimsOf(frame);
  const atoms = leaves(claims.flatMap(({ when }) => (when ? atomsOf(when) : [])));
  if (atoms.length === 0) return [{ pages: [], claims: claims.filter(({ when }) => when === null) }];
  const byShape = new Map<string, { pages: Atom[]; claims: readonly Claim[] }>();
  for (const atom of atoms) {
    const own = claims.filter(({ when }) => holdsOn(when, atom));
    const shape = shapeOf(own, frame);
    const known = byShape.get(shape);
    if (known) known.pages.push(atom);
    else byShape.set(shape, { pages: [atom], claims: own });
  }
  return [...byShape.values()];
}

/** First and last of each run of whole numbers that follow one another, ascending. */
export function numberRuns(values: readonly number[]): (readonly [number, number])[] {
  const runs: [number, number][] = [];
  for (const value of [...new Set(values)].sort((a, b) => a - b)) {
    const last = runs.at(-1);
    if (last && value === last[1] + 1) last[1] = value;
    else runs.push([value, value]);
  }
  return runs;
}

/** "0 to 23, 30": runs of whole numbers as runs. */
export const runsOfNumbers = (values: readonly number[]): string =>
  numberRuns(values)
    .map(([from, to]) => (from === to ? `${from}` : to === from + 1 ? `${from}, ${to}` : `${from} to ${to}`))
    .join(', ');

/** "page = 0 to 23": selectors one by one, as far as their values are free of each other. */
export function pagesWords(pages: readonly Atom[]): string {
  const names = [...new Set(pages.flatMap((atom) => Object.keys(atom)))];
  const product = names.reduce((size, name) => size * new Set(pages.map((atom) => atom[name])).size, 1);
  if (product !== pages.length && pages.length > 1 && names.length > 1) {
    const [first, ...others] = names as [string, ...string[]];
    const values = [...new Set(pages.map((atom) => atom[first]))];
    return values
      .map((value) => {
        const own = pages.filter((atom) => atom[first] === value);
        const rest = others.map((name) => `${name} = ${runsOfNumbers(own.flatMap((atom) => atom[name] ?? []))}`);
        return [value === undefined ? `no ${first}` : `${first} = ${value}`, ...rest].join(' and ');
      })
      .join('; ');
  }
  return names.map((name) => `${name} = ${runsOfNumbers(pages.flatMap((atom) => atom[name] ?? []))}`).join(' and ');
}
