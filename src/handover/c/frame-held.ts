/**
 * What a frame must not say by accident. The payload underneath may be one that was decoded while driving, or one of another page: what may move the
 * machine and was not released goes out as it was at rest or not at all, and a page that was chosen by hand only with all of its signals set.
 */
import { bitPositions } from '../../frames/bits.ts';
import { compileFrame } from '../../map/decode.ts';
import { parsePayload } from '../../map/raw-values.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import type { CSignal } from './member.ts';
import type { CFrame } from './plan.ts';
import { fail } from './raw-tests.ts';
import { block } from './statements.ts';

/** Names of the signals that the payload at rest holds: a signal of another page was never seen at rest. */
function atRest({ frame }: CFrame): ReadonlySet<string> {
  const rest = frame.rest && parsePayload(frame.rest.payload);
  if (!rest) return new Set();
  const present = compileFrame(frame).signals.filter((each) => each.present(rest, 0, rest.length));
  return new Set(present.map(({ signal }) => signal.name));
}

/** After all signals are laid over `p`, so that one which shares bits with a held signal moves it neither. */
export function heldTests(c: CFrame, context: CContext): string[] {
  if (c.held.length === 0) return [];
  const known = atRest(c);
  return c.held.flatMap((held) => {
    const positions = bitPositions(held.signal);
    const differs = `(${readExpression(positions)}) != (${readExpression(positions, `${c.stem}_rest`)})`;
    const refuse = fail(held, context, 'NOT_RELEASED');
    const lines = known.has(held.signal.name) ? [`if (${differs}) {`, ...refuse] : ['{', ...refuse];
    return block(held.page, lines);
  });
}

/** The page of a signal is on, and the signal is not set or never can be. */
const unsetTest = (c: CFrame, signal: CSignal, { macro }: CContext): string => {
  const isKept = c.leftOut.some(({ name }) => name === `${c.frame.name}.${signal.signal.name}`);
  const isUnset = isKept ? null : `s->${signal.member}_valid != ${macro}_VALID`;
  const tests = [signal.page, isUnset].filter(Boolean);
  return tests.length === 1 ? (tests[0] as string) : tests.map((test) => `(${test})`).join(' && ');
};

/** After the selectors are written to `p`: the bits of a page that the payload underneath does not have mean something else. */
export function pageTests(c: CFrame, context: CContext): string[] {
  if (c.selectors.length === 0) return [];
  const paged = c.signals.filter(({ page }) => page !== null);
  const changed = c.selectors.map(({ rule, page }) => {
    const positions = bitPositions(rule);
    const test = `(${readExpression(positions)}) != (${readExpression(positions, 's->payload')})`;
    return page === null ? `(${test})` : `((${page}) && (${test}))`;
  });
  const pages = [...new Set(paged.map(({ page }) => `(${page})`))];
  // A page of which the map knows no signal.
  const refuse = `return ${context.macro}_OTHER_PAGE;`;
  if (pages.length === 0) return block(changed.join(' || '), [refuse]);
  return block(changed.join(' || '), [
    ...block(`!(${pages.join(' || ')})`, [refuse]),
    ...paged.flatMap((signal) => [`if (${unsetTest(c, signal, context)}) {`, ...fail(signal, context, 'OTHER_PAGE')]),
  ]);
}
