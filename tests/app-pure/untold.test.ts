/** What a recording leaves open about an action, beside it in a few words. Common practice, no source. */
import { expect, test } from 'vitest';
import type { ActionLinks, Link, Together } from '../../src/actions/types.ts';
import { untoldOf } from '../../src/app/places/marks/untold.ts';

const link = (q: number): Link => ({ q }) as Link;
const together = (action: string, alone: number): Together => ({
  action,
  event: 'start',
  own: 'start',
  times: 6,
  of: 6,
  lagS: 0.4,
  alone,
  next: `do it without "${action}"`,
});
const report = (part: Partial<ActionLinks>): ActionLinks => ({
  action: 'door opened',
  marks: 6,
  links: [link(0.01)],
  tested: 900,
  words: '',
  ...part,
});

test('an action always done with another is said to be untold from it, one that came alone often enough is not', () => {
  expect(untoldOf(report({ together: [together('key turned', 0)] })).short).toBe('not told from “key turned”');
  expect(untoldOf(report({ together: [together('key turned', 9)] })).short).toBe('');
  const both = [together('key turned', 0), together('lamp lit', 1)];
  expect(untoldOf(report({ together: both })).short).toBe('not told from “key turned” and 1 more');
});

test('an action that nothing surely answers is a finding', () => {
  expect(untoldOf(report({ links: [link(0.3)] })).short).toBe('no sure answer');
  expect(untoldOf(report({ links: [] })).isAnswered).toBe(false);
  expect(untoldOf(report({})).short).toBe('');
});
