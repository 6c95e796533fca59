/** Senders in a real Chromium: from the demo dossier to the loom, by keyboard alone; names and moves by hand, undo, and what a reload keeps. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { openPlace } from './open-place.ts';
import { benchForTests, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();
const LONGEST_MS = 120_000;

async function openDemoSenders(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo dossier' }).click();
  await page.getByText('drive-1.log').first().waitFor({ timeout: LONGEST_MS });
  await openPlace(page, 'Senders');
  await page.locator('.senders-loom').waitFor({ timeout: LONGEST_MS });
}

/** With the Tab key, as a person without a mouse does. */
async function tabTo(page: Page, selector: string): Promise<void> {
  for (let stop = 0; stop < 40; stop++) {
    await page.keyboard.press('Tab');
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) return;
  }
  throw new Error(`Tab does not reach ${selector}`);
}

const panel = (page: Page): ReturnType<Page['locator']> => page.locator('.senders-panel');
const heldId = (page: Page): Promise<string | null> => page.locator('.senders-held .mono').textContent();
const line = (page: Page): Promise<string | null> =>
  page
    .locator('.rail-item', { has: page.locator('b', { hasText: 'Senders' }) })
    .locator('.state')
    .textContent();
const tag = (page: Page): Promise<string | null> => page.locator('.senders-of .group-tag').textContent();

test('by keyboard alone: walk the strands, name a sender, move an identifier, undo; a reload keeps all', async () => {
  const { page, context, errors } = await bench.open();
  await openDemoSenders(page);
  expect(await line(page)).toMatch(/^\d\d identifiers, \d senders$/);

  await tabTo(page, '.senders-loom');
  await page.keyboard.press('ArrowDown');
  const first = await heldId(page);
  await page.keyboard.press('ArrowDown');
  expect(await heldId(page)).not.toBe(first);
  await page.keyboard.press('Shift+ArrowDown');
  const letter = await tag(page);
  expect(letter).toBe('B');
  const held = await heldId(page);

  await page.keyboard.press('r');
  await page.keyboard.type('drive unit');
  await page.keyboard.press('Enter');
  await panel(page).locator('.senders-of', { hasText: 'drive unit' }).waitFor();

  await page.keyboard.press('g');
  await page.getByRole('dialog', { name: `Move ${held}` }).waitFor();
  await page.keyboard.press('a');
  await panel(page).locator('.senders-of .group-tag', { hasText: 'A' }).waitFor();
  expect(await heldId(page)).toBe(held);
  expect(await panel(page).textContent()).toMatch(/Put into A by hand; timing disagrees: it says B/);
  // Whose grouping is shown can be chosen now; timing alone has it where it was.
  await page.keyboard.press('t');
  expect(await tag(page)).toBe('B');
  await page.keyboard.press('t');

  await page.keyboard.press('Control+z');
  expect(await tag(page)).toBe('B');
  await page.keyboard.press('Control+y');
  expect(await tag(page)).toBe('A');

  await page.waitForTimeout(500);
  await page.reload();
  await page.locator('.senders-loom').waitFor({ timeout: LONGEST_MS });
  expect(await heldId(page)).toBe(held);
  expect(await tag(page)).toBe('A');
  expect(await page.locator('.senders-loom table').textContent()).toContain('(drive unit)');

  // Another recording of the same vehicle: the sender keeps its letter and its name.
  const address = page.url();
  await page.evaluate(() => (location.hash = 'senders?capture=c2'));
  await page
    .locator('.senders-loom td', { hasText: 'sender B (drive unit)' })
    .first()
    .waitFor({ state: 'attached', timeout: LONGEST_MS });
  await page.evaluate((hash) => (location.hash = hash), new URL(address).hash);
  await page.locator('.senders-of .group-tag', { hasText: 'A' }).waitFor({ timeout: LONGEST_MS });

  // The same hand reaches the map, and Payloads.
  await page.locator('.senders-loom').focus();
  await page.keyboard.press('Enter');
  await page.locator(`.payloads-id.selected`).waitFor();
  expect(await page.locator('.payloads-id.selected').textContent()).toContain(held);
  expect(errors).toEqual([]);
  await context.close();
});

test('the evidence: a clock keeps to its own sender, and runs away from another', async () => {
  const { page, context, errors } = await bench.open();
  await openDemoSenders(page);
  await page.locator('.senders-loom').focus();
  await page.keyboard.press('ArrowDown');
  const words = page.locator('.senders-one .inferred');
  await words.filter({ hasText: 'One clock.' }).waitFor({ timeout: LONGEST_MS });
  expect(await words.textContent()).toMatch(/^Bounded: it keeps within ± \d+ us of the rest of A/);
  await page.getByLabel('Clock to hold it against').selectOption('C');
  await words.filter({ hasText: 'Two clocks.' }).waitFor();
  expect(await words.textContent()).toMatch(/^A ramp: [+−]\d+\.\d\d ± \d\.\d\d ppm against C/);
  expect(await page.locator('.senders-one canvas').getAttribute('aria-label')).toContain('two clocks');
  // A strand may be held by the pointer too, by its row.
  const box = await page.locator('.senders-view').boundingBox();
  await page.mouse.click((box?.x ?? 0) + (box?.width ?? 0) * 0.62, (box?.y ?? 0) + 60);
  expect(await page.locator('.senders-held').count()).toBe(1);
  await page.keyboard.press('Escape');
  expect(errors).toEqual([]);
  await context.close();
});

/** Stamps of 100 ms: no clock shows, and none is claimed. */
function coarseLog(): string {
  const rows = Array.from({ length: 1200 }, (_, n) => [n * 0.05, n % 2 ? '120' : '2B4'] as const);
  return rows
    .map(([atS, id]) => `(${(1_700_000_000 + Math.floor(atS * 10) / 10).toFixed(1)}) can0 ${id}#0011223344556677\n`)
    .join('');
}

test('stamps that cannot tell: the loom is drawn loose, and the panel says why there are no curves', async () => {
  const { page, context, errors } = await bench.open();
  await pick(page, 'Choose files', 'coarse.log', coarseLog());
  await untilRead(page);
  await openPlace(page, 'Senders');
  await page.locator('.senders-loom').waitFor({ timeout: LONGEST_MS });
  expect(await line(page)).toBe('2 identifiers, no sender told');
  expect(await panel(page).textContent()).toContain('2 identifiers without a sender');
  await panel(page)
    .getByText(/No clock shows|no two are surely one/)
    .waitFor({ timeout: LONGEST_MS });
  expect(errors).toEqual([]);
  await context.close();
});

test('on a phone: rows for thumbs, and the reasons of what is held come up', async () => {
  const { page, context, errors } = await bench.open({ width: 390, height: 844 });
  await pick(page, 'Choose files', 'coarse.log', coarseLog());
  await untilRead(page);
  await page.getByRole('button', { name: 'Senders' }).last().click();
  await page.locator('.senders-loom').waitFor({ timeout: LONGEST_MS });
  const box = await page.locator('.senders-view').boundingBox();
  await page.touchscreen.tap((box?.x ?? 0) + 200, (box?.y ?? 0) + 95);
  await page.locator('.senders-held').waitFor();
  expect(await page.locator('.panel').isVisible()).toBe(true);
  const wide = await page.evaluate(() => document.scrollingElement?.scrollWidth ?? 0);
  expect(wide).toBeLessThanOrEqual(390);
  expect(errors).toEqual([]);
  await context.close();
});
