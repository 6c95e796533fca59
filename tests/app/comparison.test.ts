/** Two recordings compared in the page: one with half of the identifiers gone, chosen, read, held by keyboard; and in words where there is but one. */
import axe from 'axe-core';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { benchForTests, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();

interface Sender {
  readonly id: string;
  readonly periodS: number;
  /** Sent by the module that is unplugged in the second recording. */
  readonly goes?: true;
  /** Its period then. */
  readonly slowerS?: number;
}

const SENDERS: readonly Sender[] = [
  { id: '120', periodS: 0.02 },
  { id: '121', periodS: 0.05 },
  { id: '122', periodS: 0.02, slowerS: 0.08 },
  { id: '123', periodS: 0.1 },
  { id: '3A0', periodS: 0.02, goes: true },
  { id: '3A1', periodS: 0.05, goes: true },
  { id: '3A2', periodS: 0.1, goes: true },
];

/** Log lines of an invented bus over some seconds. */
function lines(lastsS: number, unplugged: boolean): string {
  const random = createRandom(unplugged ? 2 : 1);
  const rows: { atS: number; text: string }[] = [];
  for (const { id, periodS, goes, slowerS } of SENDERS) {
    if (unplugged && goes) continue;
    const period = unplugged ? (slowerS ?? periodS) : periodS;
    const phase = random.next() * period;
    for (let n = 0; n * period + phase < lastsS; n++) {
      const atS = n * period + phase + random.next() * 1e-4;
      const count = (n & 255).toString(16).toUpperCase().padStart(2, '0');
      rows.push({ atS, text: `(${(1_700_000_000 + atS).toFixed(6)}) can0 ${id}#${count}0040` });
    }
  }
  return rows
    .sort((a, b) => a.atS - b.atS)
    .map(({ text }) => `${text}\n`)
    .join('');
}

async function openBoth(page: Page): Promise<void> {
  await pick(page, 'Choose files', 'whole.log', lines(40, false));
  await untilRead(page);
  await pick(page, 'Add files', 'plug-off.log', lines(25, true));
  await page.getByText('plug-off.log').first().waitFor();
  await untilRead(page);
}

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source.replace('"use strict";', ''));
  return page.evaluate(async () => {
    const { axe: own } = window as unknown as { axe: { run(): Promise<{ violations: { id: string }[] }> } };
    return (await own.run()).violations.map((found) => JSON.stringify(found).slice(0, 400));
  });
}

test('who falls silent stands first, and is held by keyboard', async () => {
  const { page, errors } = await bench.open();
  await openBoth(page);
  await page.keyboard.press('c');
  const list = page.getByRole('listbox', { name: /that differ/ });
  await list.waitFor({ timeout: 120_000 });
  const silent = list.getByRole('group', { name: /Fall silent/ }).getByRole('option');
  expect(await silent.count()).toBe(3);
  expect(await list.getByRole('group', { name: /React/ }).getByRole('option').allTextContents()).toEqual([
    expect.stringContaining('slows down, 20 → 80 ms'),
  ]);
  await page.getByText('3 others go on alike').waitFor();
  await list.focus();
  await page.keyboard.press('Home');
  await page.keyboard.press('ArrowDown');
  expect(await list.getByRole('option', { selected: true }).textContent()).toContain('0x3A1');
  const panel = page.getByRole('complementary', { name: /reasons/ });
  await panel.getByRole('heading', { name: '0x3A1' }).waitFor();
  expect(await panel.textContent()).toContain('confidence');
  expect(await violations(page)).toEqual([]);
  await page.setViewportSize({ width: 390, height: 844 });
  expect(await violations(page)).toEqual([]);
  expect(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
  await page.setViewportSize({ width: 1440, height: 900 });
  await list.focus();
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Payloads', exact: true }).first().waitFor();
  expect(errors).toEqual([]);
});

test('sides can be changed over, and a span of one taken', async () => {
  const { page, errors } = await bench.open();
  await openBoth(page);
  await page.getByRole('button', { name: /Compare two/ }).click();
  const [first, second] = [page.getByLabel('First capture'), page.getByLabel('Second capture')];
  const [whole, off] = [await first.inputValue(), await second.inputValue()];
  expect(whole).not.toBe(off);
  await first.selectOption(off);
  await second.selectOption(whole);
  await page
    .getByRole('group', { name: /Only in the second|React/ })
    .first()
    .waitFor({ timeout: 120_000 })
    .catch(() => undefined);
  await page.getByText(/no module is missing/).waitFor({ timeout: 120_000 });
  await first.selectOption(whole);
  await page.locator('.lane-name').first().click();
  await page.keyboard.press('+');
  await page.getByRole('button', { name: 'First: only what is in view' }).click();
  await page.getByRole('button', { name: 'First: all of it' }).waitFor();
  await page.getByText('7 identifiers go on alike').waitFor({ timeout: 120_000 });
  expect(errors).toEqual([]);
});

test('with one capture it says what a second would show', async () => {
  const { page, errors } = await bench.open();
  await pick(page, 'Choose files', 'whole.log', lines(20, false));
  await untilRead(page);
  await page.keyboard.press('c');
  await page.getByText('A second capture with a module unplugged would show').waitFor();
  await page.keyboard.press('c');
  await page.locator('.thread-list').waitFor();
  expect(errors).toEqual([]);
});
