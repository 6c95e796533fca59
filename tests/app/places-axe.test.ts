/** What axe-core finds on Senders, Payloads, Signals, Proof and Handover, in both themes and at phone width. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { violations } from './axe-support.ts';
import { openPlace } from './open-place.ts';
import { benchForTests } from './shell-support.ts';
import { fieldOption, holdIdentifier, openMarked } from './places-support.ts';
import { heldAgainst, openTwo } from './proof-support.ts';

const bench = benchForTests();

async function nothingAtBothWidths(page: Page): Promise<void> {
  expect(await violations(page)).toEqual([]);
  await page.setViewportSize({ width: 390, height: 844 });
  expect(await violations(page)).toEqual([]);
  await page.setViewportSize({ width: 1440, height: 900 });
}

test.each(['light', 'dark'] as const)('nothing on the four places (%s)', async (scheme) => {
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
  await openPlace(page, 'Senders');
  await page.locator('.senders-drift').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.locator('.senders-loom').focus();
  await page.keyboard.press('End');
  await page.locator('.senders-held').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('g');
  await page.getByRole('dialog').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.getByRole('button', { name: /new letter/ }).click();
  await page.keyboard.press('r');
  await page.getByRole('dialog', { name: 'Name sender' }).waitFor();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('Escape');
  await page.setViewportSize({ width: 390, height: 844 });
  await page.getByRole('button', { name: 'Reasons' }).click();
  expect(await violations(page)).toEqual([]);
  expect(errors).toEqual([]);
});

test.each(['light', 'dark'] as const)('nothing on Proof (%s)', async (scheme) => {
  const { page, errors } = await openTwo(bench, { scheme });
  await page.locator('.proof-choices').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('h');
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('Escape');
  await heldAgainst(page);
  await page.keyboard.press('l');
  await page.keyboard.press('Enter');
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('j');
  await nothingAtBothWidths(page);
  await page.keyboard.press('w');
  await page.locator('.proof-need').first().waitFor({ timeout: 120_000 });
  await page.keyboard.press('l');
  await page.keyboard.press('ArrowDown');
  await nothingAtBothWidths(page);
  await page.keyboard.press('w');
  await page.getByRole('button', { name: 'Open their map' }).waitFor();
  expect(await violations(page)).toEqual([]);
  expect(errors).toEqual([]);
});

test('empty places say what they need and pass too', async () => {
  const { page } = await bench.open();
  for (const title of ['Senders', 'Payloads', 'Signals', 'Proof', 'Handover']) {
    await openPlace(page, title);
    expect(await page.getByRole('button', { name: 'Go to Captures' }).count()).toBe(1);
    expect(await violations(page)).toEqual([]);
  }
});
