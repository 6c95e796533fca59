/** The sheet itself: places and keys, drawer and phone, themes, offline, the dossier that comes back, and what axe-core finds. */
import axe from 'axe-core';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { dossierSchema } from '../../src/jobs/dossier.ts';
import { benchForTests, logLines, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe.source.replace('"use strict";', ''));
  const found = await page.evaluate(async () => {
    const run = (
      window as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }
    ).axe;
    return (await run.run()).violations.map(
      ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`,
    );
  });
  return found;
}

test('digits change the place, the address follows, and Back returns', async () => {
  const { page, context, errors } = await bench.open();
  const titles = await page.locator('.rail-item b').allTextContents();
  expect(titles.slice(0, 2)).toEqual(['Captures', 'Marks']);
  for (const [index, title] of [...titles.entries()].slice(1)) {
    await page.keyboard.press(String(index + 1));
    expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe(title);
    expect(new URL(page.url()).hash.slice(1).split('?')[0]).toBe(title.toLowerCase());
  }
  await page.goBack();
  expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe(titles.at(-2));
  expect(errors).toEqual([]);
  await context.close();
});

test('the list of keys opens with ?, names the keys of the place, and Esc closes it', async () => {
  const { page, context } = await bench.open({ hash: '#marks' });
  await page.keyboard.press('?');
  const dialog = page.getByRole('dialog', { name: 'Keys' });
  await dialog.waitFor();
  expect(await dialog.textContent()).toContain('mark the chosen action');
  expect(await dialog.textContent()).toContain('Ctrl Shift Z');
  await page.keyboard.press('Escape');
  await dialog.waitFor({ state: 'hidden' });
  await context.close();
});

test('nothing is typed away: digits and letters in a field stay in the field', async () => {
  const { page, context } = await bench.open();
  await page.locator('.title-block').click();
  await page.getByLabel('Part', { exact: true }).fill('');
  await page.keyboard.type('Pump 2 motor');
  expect(await page.getByLabel('Part', { exact: true }).inputValue()).toBe('Pump 2 motor');
  await page.keyboard.press('Escape');
  expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe('Captures');
  expect(await page.locator('.title-block').textContent()).toContain('Pump 2 motor');
  await context.close();
});

test('the dossier and its capture come back after a reload, cursor and view included', async () => {
  const { page, context, errors } = await bench.open();
  await pick(page, 'Choose files', 'yard.log', logLines());
  await untilRead(page);
  await page.getByLabel('Bit rate of can0, kbit/s').fill('500');
  await page.keyboard.press('Enter');
  await page.locator('.ruler-time').click({ position: { x: 200, y: 12 } });
  await page.keyboard.press('+');
  const before = await page.locator('.ruler-words').textContent();
  await page.waitForTimeout(400);
  await page.reload();
  await untilRead(page);
  await expect.poll(() => page.locator('.ruler-words').textContent()).toBe(before);
  expect(await page.getByLabel('Bit rate of can0, kbit/s').inputValue()).toBe('500');
  expect(errors).toEqual([]);
  await context.close();
});

test('the dossier saves to one file that the schema accepts, opens from it elsewhere, and asks for the capture by name', async () => {
  const { page, context } = await bench.open();
  await pick(page, 'Choose files', 'yard.log', logLines(1_700_000_000, 20));
  await untilRead(page);
  await page.locator('.title-block').click();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save to a file' }).click(),
  ]);
  const path = await download.path();
  const { readFileSync } = await import('node:fs');
  const text = readFileSync(path, 'utf8');
  const dossier = dossierSchema.parse(JSON.parse(text));
  expect(dossier.captures[0]?.files[0]?.sha256).toMatch(/^[0-9a-f]{64}$/);
  const other = await bench.open();
  await pick(other.page, 'Choose files', 'yard.dossier.json', text);
  await other.page.getByText('The file is not in this browser').waitFor();
  expect(await other.page.locator('.panel').textContent()).toContain('yard.log');
  // A file of the same name and size with other content is refused, the original is taken.
  const changed = logLines(1_700_000_000, 20).replace(/20/, '21');
  await pick(other.page, 'Choose the file', 'yard.log', changed);
  await other.page.getByText('its digest differs').waitFor();
  await other.page.keyboard.press('Escape');
  await other.context.close();
  await context.close();
});

test('undo and redo work over places, by key', async () => {
  const { page, context } = await bench.open({ hash: '#marks' });
  await page.getByLabel('Name of the new action').fill('horn sounded');
  await page.keyboard.press('Enter');
  await page.locator('.track-name', { hasText: 'horn sounded' }).waitFor();
  await page.locator('h1').click();
  await page.keyboard.press('Control+z');
  expect(await page.locator('.track-name').count()).toBe(0);
  await page.keyboard.press('1');
  await page.keyboard.press('Control+Shift+Z');
  await page.keyboard.press('2');
  expect(await page.locator('.track-name').count()).toBe(1);
  await context.close();
});

test('paper and night: the switch changes the sheet, and the choice outlasts a reload', async () => {
  const { page, context } = await bench.open({ scheme: 'dark' });
  const ground = (): Promise<string> => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  expect(await ground()).toBe('rgb(17, 23, 26)');
  await page.getByRole('button', { name: 'Change to paper' }).click();
  expect(await ground()).toBe('rgb(242, 243, 238)');
  await page.reload();
  await page.locator('.rail').waitFor();
  expect(await ground()).toBe('rgb(242, 243, 238)');
  await context.close();
});

test('below 1200 px the panel is a drawer; on a phone nothing scrolls sideways and targets are 44 px', async () => {
  const { page, context } = await bench.open({ width: 1000, height: 760 });
  const panel = page.locator('.panel');
  expect(await panel.isVisible()).toBe(false);
  await page.getByRole('button', { name: 'Reasons' }).click();
  await expect.poll(() => panel.isVisible()).toBe(true);
  await context.close();
  const phone = await bench.open({ width: 390, height: 844 });
  await pick(phone.page, 'Choose files', 'yard.log', logLines(1_700_000_000, 20));
  await untilRead(phone.page);
  for (const title of ['Captures', 'Marks']) {
    await phone.page.locator('.bottom-bar').getByRole('button', { name: title }).click();
    const widths = await phone.page.evaluate(() => [
      document.documentElement.scrollWidth,
      document.querySelector('.place')?.scrollWidth,
    ]);
    expect(widths).toEqual([390, 390]);
    const small = await phone.page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('button, input:not([type=checkbox]), select')]
        .filter((element) => element.offsetParent !== null && !element.classList.contains('track-name'))
        .filter((element) => element.getBoundingClientRect().height < 44)
        .map((element) => element.outerHTML.slice(0, 120)),
    );
    expect(small).toEqual([]);
  }
  await phone.context.close();
});

test('works with the server gone after the first visit', async () => {
  const { page, context } = await bench.open();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForTimeout(1500);
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('heading', { level: 1 }).waitFor();
  await pick(page, 'Choose files', 'yard.log', logLines(1_700_000_000, 5));
  await untilRead(page);
  await context.close();
});

test.each(['light', 'dark'] as const)('axe-core finds nothing on Captures and Marks (%s)', async (scheme) => {
  const { page, context } = await bench.open({ scheme });
  expect(await violations(page)).toEqual([]);
  await pick(page, 'Choose files', 'yard.log', logLines(1_700_000_000, 30));
  await untilRead(page);
  await page.locator('.thread-name').first().waitFor();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('2');
  expect(await violations(page)).toEqual([]);
  await page.getByLabel('Name of the new action').fill('pedal pressed');
  await page.keyboard.press('Enter');
  await page.locator('.ruler-time').click({ position: { x: 200, y: 12 } });
  await page.keyboard.press('m');
  await page.locator('.mark').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.keyboard.press('c');
  expect(await violations(page)).toEqual([]);
  await context.close();
});

test('axe-core finds nothing on a phone: captures, marks, the plan and a running card', async () => {
  const { page, context } = await bench.open({ width: 390, height: 844 });
  await pick(page, 'Choose files', 'yard.log', logLines(1_700_000_000, 30));
  await untilRead(page);
  await page.locator('.thread-name').first().waitFor();
  expect(await violations(page)).toEqual([]);
  await page.locator('.bottom-bar').getByRole('button', { name: 'Marks' }).click();
  await page.getByRole('button', { name: 'brake pressed' }).click();
  await page.locator('.track-name').waitFor();
  expect(await violations(page)).toEqual([]);
  await page.getByRole('button', { name: 'Run card' }).click();
  expect(await violations(page)).toEqual([]);
  await page.getByRole('button', { name: 'Start the run' }).click();
  expect(await violations(page)).toEqual([]);
  await context.close();
});
