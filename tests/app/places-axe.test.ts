/** What axe-core finds on Payloads, Signals and Handover, in both themes and at phone width. */
import axe from 'axe-core';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { openPlace } from './open-place.ts';
import { benchForTests } from './shell-support.ts';
import { fieldOption, holdIdentifier, openMarked } from './places-support.ts';

const bench = benchForTests();

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source.replace('"use strict";', ''));
  return page.evaluate(async () => {
    const run = (
      window as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }
    ).axe;
    return (await run.run()).violations.map(
      ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 200)).join(' | ')}`,
    );
  });
}

test.each(['light', 'dark'] as const)('nothing on the three places (%s)', async (scheme) => {
  const { page, errors } = await openMarked(bench, { scheme });
  await page.locator('.payloads-rows tbody tr').first().waitFor({ timeout: 60_000 });
  expect(await violations(page)).toEqual([]);
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /^b0/).click();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('n');
  expect(await violations(page)).toEqual([]);
  await page.keyboard.type('pedal');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Signals');
  await page.locator('.signals-label').first().waitFor();
  expect(await violations(page)).toEqual([]);
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor();
  expect(await violations(page)).toEqual([]);
  expect(errors).toEqual([]);
});

test('empty places say what they need and pass too', async () => {
  const { page } = await bench.open();
  for (const title of ['Senders', 'Payloads', 'Signals', 'Handover']) {
    await openPlace(page, title);
    expect(await page.getByRole('button', { name: 'Go to Captures' }).count()).toBe(1);
    expect(await violations(page)).toEqual([]);
  }
});
