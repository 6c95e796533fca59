/** Pages as C conditions: over the selector members of a struct, or read from the payload itself. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapSelector, When } from '../../map/schema.ts';
import { readExpression } from './bits.ts';
import { u64 } from './text.ts';

interface NamedSelector {
  readonly rule: MapSelector & Placement;
  readonly member: string;
}

/** An expression for a selector's raw value. */
type ReadSelector = (selector: NamedSelector) => string;

export const fromStruct: ReadSelector = ({ member }) => `s->${member}`;
export const fromPayload: ReadSelector = ({ rule }) => `(${readExpression(bitPositions(rule))})`;

/** Tests of all selectors that must hold; empty where the layout is always on. */
function pageTests(
  when: When | undefined,
  selectors: readonly NamedSelector[],
  read: ReadSelector,
  depth = 0,
): string[] {
  return Object.entries(when ?? {}).flatMap(([name, values]) => {
    const selector = selectors.find(({ rule }) => rule.name === name);
    if (!selector || values.length === 0 || depth > selectors.length) return ['0'];
    const own = values.map((value) => `${read(selector)} == ${u64(BigInt(Math.max(0, value)))}`);
    return [...pageTests(selector.rule.when, selectors, read, depth + 1), own.join(' || ')];
  });
}

/** A C condition for a page; null where the layout is always on. */
export function pageCondition(
  when: When | undefined,
  selectors: readonly NamedSelector[],
  read: ReadSelector,
): string | null {
  const tests = pageTests(when, selectors, read);
  if (tests.length <= 1) return tests[0] ?? null;
  return tests.map((test) => `(${test})`).join(' && ');
}
