/** What axe-core finds on the outputs of Handover, in both themes and at phone width. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { violations } from './axe-support.ts';
import { openPlace } from './open-place.ts';
import { openMarked } from './places-support.ts';
import { benchForTests } from './shell-support.ts';

const bench = benchForTests();

/** Every output as it opens, drawn and as text where it is both. */
async function walkThrough(page: Page): Promise<void> {
  const outputs = page.locator('.handover-outputs li > button');
  for (let at = 0; at < (await outputs.count()); at++) {
    const title = (await outputs.nth(at).locator('b').innerText()).trim();
    expect([title, ...(await violations(page))]).toEqual([title]);
    await page.keyboard.press('v');
    expect([title, 'as text', ...(await violations(page))]).toEqual([title, 'as text']);
    await page.keyboard.press('v');
    await page.keyboard.press('o');
  }
}

test.each(['light', 'dark'] as const)('nothing on any output (%s)', async (scheme) => {
  const { page, errors } = await openMarked(bench, { scheme });
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 60_000 });
  await walkThrough(page);
  await page.getByRole('button', { name: /^Keep-alive plan/ }).click();
  await page.keyboard.press('l');
  await page.keyboard.press('ArrowDown');
  await page.getByText('The plan as a table').click();
  expect(await violations(page)).toEqual([]);
  await page.getByRole('button', { name: /^C source/ }).click();
  await page.getByText('Released by name', { exact: true }).click();
  await page.getByRole('checkbox', { name: /I have read these/ }).check();
  expect(await violations(page)).toEqual([]);
  await page.setViewportSize({ width: 390, height: 844 });
  await walkThrough(page);
  expect(errors).toEqual([]);
});
