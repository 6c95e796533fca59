/** Signals in a real browser: naming, fitting to a file and to readings typed at the cursor, undo. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { openPlace } from './open-place.ts';
import { benchForTests, pick } from './shell-support.ts';
import {
  fieldOption,
  holdIdentifier,
  meterAt,
  openMarked,
  referenceCsv,
  TRUE_OFFSET,
  TRUE_SCALE,
} from './places-support.ts';

const bench = benchForTests();
/** What shell-support's recording lasts, nearly. */
const LASTS_S = 110;

async function nameLevel(page: Page): Promise<void> {
  await holdIdentifier(page, '0x2B4');
  await fieldOption(page, /^b0/).click();
  await page.keyboard.press('n');
  await page.keyboard.type('tank level');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Signals');
}

test('a field named by keyboard is fitted to a file; the formula has its error and the residuals are drawn', async () => {
  const { page, errors } = await openMarked(bench);
  await nameLevel(page);
  await expect.poll(() => page.locator('.signals-label').innerText()).toContain('tank_level');
  await pick(page, 'Import', 'level.csv', referenceCsv());
  const formula = page.locator('.signals-formula');
  await formula.waitFor({ timeout: 60_000 });
  const words = await formula.innerText();
  expect(words).toContain('mm');
  const scale = Number(/= ([\d.]+) × raw/.exec(words)?.[1]);
  expect(Math.abs(scale - TRUE_SCALE)).toBeLessThan(0.01);
  const offset = Number(/raw ([+−] [\d.]+) mm/.exec(words)?.[1]?.replace('− ', '-').replace('+ ', ''));
  expect(Math.abs(offset - TRUE_OFFSET)).toBeLessThan(1);
  expect(await page.locator('.signals-panel').innerText()).toMatch(/± [\d.]+ and ± [\d.]+, from \d+ readings/);
  await page.locator('.signals-residuals canvas').waitFor();
  await page.keyboard.press('u');
  await expect.poll(() => page.locator('.signals-label').innerText()).toContain('mm');
  expect(await page.locator('.signals-panel').innerText()).toContain('Fit to level');
  await page.keyboard.press('Control+z');
  await expect.poll(() => page.locator('.signals-panel').innerText()).not.toContain('Fit to level');
  expect(errors).toEqual([]);
});

test('readings typed at the cursor give a line once there are two, and its error once there are three', async () => {
  const { page, errors } = await openMarked(bench);
  await nameLevel(page);
  const time = await page.locator('.ruler-time').boundingBox();
  if (!time) throw new Error('no ruler');
  // A person reads a needle a little wrong.
  for (const [share, wrongBy, words] of [
    [0.2, 0.2, '1 reading: 1 more'],
    [0.45, -0.1, 'always fits'],
    [0.9, 0.2, ''],
  ] as const) {
    await page.locator('.ruler-time').click({ position: { x: share * time.width, y: 11 } });
    await page.keyboard.press('t');
    const said = meterAt(share * LASTS_S) + wrongBy;
    await page.keyboard.type(said.toFixed(1).replace('.', ','));
    await page.keyboard.press('Enter');
    if (words) await expect.poll(() => page.locator('.signals-typed').innerText()).toContain(words);
  }
  await expect
    .poll(() => page.locator('.signals-panel').innerText(), { timeout: 10_000 })
    .toMatch(/± [\d.]+ and ± [\d.]+, from 3 readings/);
  const scale = Number(/= ([\d.]+) × raw/.exec(await page.locator('.signals-formula').innerText())?.[1]);
  expect(Math.abs(scale - TRUE_SCALE)).toBeLessThan(0.02);
  expect(await page.locator('.signals-readings li').count()).toBe(3);
  expect(errors).toEqual([]);
});

test('a name that is taken is refused in words, and Undo takes a name away', async () => {
  const { page, errors } = await openMarked(bench);
  await nameLevel(page);
  await openPlace(page, 'Payloads');
  await page.locator('.payloads-weave').focus();
  await page.keyboard.press('Escape');
  for (let k = 0; k < 20; k++) await page.keyboard.press('ArrowDown');
  await page.keyboard.press('f');
  await page.keyboard.press('n');
  await page.keyboard.type('tank level');
  await page.keyboard.press('Enter');
  expect(await page.getByRole('alert').innerText()).toContain('already has a signal called tank_level');
  await page.keyboard.press('Escape');
  await page.keyboard.press('Control+z');
  await openPlace(page, 'Signals');
  await page.getByText('Nothing is named yet').waitFor();
  expect(errors).toEqual([]);
});
