/**
 * Which page of a frame is on: `when` names selectors and the raw values that they must have. A frame
 * too short to hold a selector is on none of its pages.
 */
import { bytesNeeded } from '../frames/bits.ts';
import { compileReader } from './raw-values.ts';
import type { MapFrame, MapSelector, When } from './schema.ts';

/** Whether a layout applies to the payload at `offset`, `length` bytes long. */
export type PageTest = (payload: Uint8Array, offset: number, length: number) => boolean;

const always: PageTest = () => true;
const never: PageTest = () => false;

function compileSelector(selector: MapSelector, values: readonly number[]): PageTest {
  const read = compileReader(selector);
  const needed = bytesNeeded(selector);
  const wanted = new Set(values);
  return (payload, offset, length) => length >= needed && wanted.has(Number(read(payload, offset)));
}

/** All selectors named must hold, and where a selector is itself on a page, that page too. */
export function compileWhen(when: When | undefined, selectors: readonly MapSelector[], depth = 0): PageTest {
  if (!when) return always;
  const tests = Object.entries(when).flatMap(([name, values]) => {
    const selector = selectors.find((candidate) => candidate.name === name);
    if (!selector || depth > selectors.length) return [never];
    const own = compileSelector(selector, values);
    return selector.when ? [compileWhen(selector.when, selectors, depth + 1), own] : [own];
  });
  if (tests.length === 0) return always;
  if (tests.length === 1) return tests[0] as PageTest;
  return (payload, offset, length) => tests.every((test) => test(payload, offset, length));
}

/** Whether two layouts can be on at once: no selector that both name asks for disjoint values. */
export function canCoincide(a: When | undefined, b: When | undefined): boolean {
  if (!a || !b) return true;
  return Object.entries(a).every(([name, values]) => {
    const others = b[name];
    return !others || others.some((value) => values.includes(value));
  });
}

const written = (when: When | undefined): string =>
  JSON.stringify(Object.entries(when ?? {}).sort(([one], [other]) => (one < other ? -1 : 1)));

/** Whether two layouts are on at just the same times, as far as they are written alike; the order of selectors says nothing. */
export const isSameWhen = (a: When | undefined, b: When | undefined): boolean => written(a) === written(b);

export const selectorNamed = (frame: MapFrame, name: string): MapSelector | undefined =>
  frame.selectors.find((selector) => selector.name === name);
