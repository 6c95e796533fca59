/** Handover in a real browser: the saved map goes back through the schema; what can send waits for the cautions. */
import { readFileSync } from 'node:fs';
import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { parseMap } from '../../src/map/parse.ts';
import { openPlace } from './open-place.ts';
import { benchForTests } from './shell-support.ts';
import { fieldOption, holdIdentifier, openMarked } from './places-support.ts';

const bench = benchForTests();

test('the map that is saved has the signal that was named, and the schema accepts it', async () => {
  const { page, errors } = await openMarked(bench);
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /^b3/).click();
  await page.keyboard.press('n');
  await page.keyboard.type('tank level');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 60_000 });
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('s')]);
  expect(download.suggestedFilename()).toMatch(/\.signal-map\.json$/);
  const text = readFileSync(await download.path(), 'utf8');
  const map = parseMap(text, 'saved');
  if (!map.ok) throw new Error(map.problems[0].message);
  const frame = map.value.frames.find(({ id }) => id === '0x120');
  const signal = frame?.signals.find(({ name }) => name === 'tank_level');
  expect(signal).toMatchObject({ lsb: { byte: 3, bit: 0 }, standing: 'guess', sending: 'untested' });
  expect(map.value.captures[0]?.files[0]?.name).toBe('yard.log');
  expect(map.value.made.by).toMatch(/^loomscribe \d/);
  expect(Date.parse(map.value.made.at)).toBeGreaterThan(0);
  expect(errors).toEqual([]);
});

test('C source is saved only after the cautions were read', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^C source/ }).click({ timeout: 60_000 });
  let saved = 0;
  page.on('download', () => saved++);
  await page.keyboard.press('s');
  await page.getByText('Read the cautions first').waitFor();
  expect(saved).toBe(0);
  const box = page.getByRole('checkbox', { name: /I have read these/ });
  expect(await box.evaluate((element) => element === document.activeElement)).toBe(true);
  await page.keyboard.press('Space');
  await page.keyboard.press('s');
  await expect.poll(() => saved, { timeout: 10_000 }).toBe(2);
  expect(errors).toEqual([]);
});

test('all together is one file, with a map that the schema accepts and the cautions in what can send', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.getByRole('checkbox', { name: /I have read these/ }).check({ timeout: 60_000 });
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('a')]);
  expect(download.suggestedFilename()).toBe('donor-part.handover.zip');
  const files = unzipSync(readFileSync(await download.path()));
  const text = (name: string): string => new TextDecoder().decode(files[name]);
  expect(parseMap(text('signal-map.json'), 'in the zip').ok).toBe(true);
  for (const name of ['signal_map.h', 'keep-alive.md', 'report.md']) expect(text(name)).toContain('High voltage');
  expect(await page.locator('.handover-cautions li').first().innerText()).toContain(
    'Nothing is proven by having been recorded',
  );
  expect(errors).toEqual([]);
});

test('the keep-alive plan is drawn, and walked by keys: a frame that is held tells its reasons', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.locator('.handover-outputs').waitFor({ timeout: 60_000 });
  await page.keyboard.press('o');
  await page.keyboard.press('o');
  const lanes = page.getByRole('listbox', { name: /frames over/ });
  await lanes.waitFor();
  await page.keyboard.press('l');
  await page.keyboard.press('ArrowDown');
  const held = page.getByRole('region', { name: 'The frame that is held' });
  const option = lanes.getByRole('option', { selected: true });
  expect(await option.innerText()).toContain('untested');
  expect(await held.innerText()).toContain((await option.locator('.plan-id').innerText()).trim());
  await page.keyboard.press('Escape');
  expect(await held.count()).toBe(0);
  await page.keyboard.press('v');
  await page.getByLabel('keep-alive.md').waitFor();
  expect(errors).toEqual([]);
});

test('what a sender that is the part sends is not in the plan, and undo takes that back', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^Keep-alive plan/ }).click({ timeout: 60_000 });
  const options = page.getByRole('listbox', { name: /frames over/ }).getByRole('option');
  await options.first().waitFor();
  const before = await options.count();
  const sender = page.locator('.part-senders .button').first();
  await sender.focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => options.count()).toBeLessThan(before);
  expect(await sender.getAttribute('aria-pressed')).toBe('true');
  await page.keyboard.press('Control+z');
  await expect.poll(() => options.count()).toBe(before);
  expect(errors).toEqual([]);
});

test('choices change the C that is shown and saved, and stay in the dossier', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^C source/ }).click({ timeout: 60_000 });
  const header = page.getByLabel('signal_map.h');
  await expect.poll(() => header.innerText(), { timeout: 20_000 }).toContain('sm_receive');
  await page.getByLabel('Before every name').fill('van');
  await expect.poll(() => header.innerText(), { timeout: 20_000 }).toContain('van_receive');
  await page.getByRole('button', { name: 'integers' }).click();
  await expect.poll(() => header.innerText(), { timeout: 20_000 }).not.toContain('double ');
  await page.keyboard.press('f');
  await page.getByLabel('signal_map.c').waitFor();
  await page.keyboard.press('Control+z');
  await page.keyboard.press('f');
  await expect.poll(() => header.innerText(), { timeout: 20_000 }).toContain('double ');
  expect(await page.getByLabel('Before every name').inputValue()).toBe('van');
  expect(errors).toEqual([]);
});

test('a release takes the whole name of a signal that could move the machine, and makes the cautions be read again', async () => {
  const { page, errors } = await openMarked(bench);
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /^b3/).click();
  await page.keyboard.press('n');
  await page.keyboard.type('torque wish');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^C source/ }).click({ timeout: 60_000 });
  const read = page.getByRole('checkbox', { name: /I have read these/ });
  await read.check();
  await page.getByText('Released by name', { exact: true }).click();
  const waiting = page.locator('.handover-names');
  // A payload to be sent starts from the one at rest: until that is found nothing is offered.
  await expect
    .poll(() => waiting.allInnerTexts(), { timeout: 60_000 })
    .toContainEqual(expect.stringMatching(/\.torque_wish/));
  const whole = (await waiting.innerText()).split(', ').find((text) => text.endsWith('.torque_wish')) ?? '';
  const name = page.getByLabel('Write the whole name');
  await name.fill('torque_wish');
  await page.keyboard.press('Enter');
  await page.getByText(/No signal is called/).waitFor();
  expect(await name.getAttribute('aria-invalid')).toBe('true');
  await name.fill(whole);
  await page.keyboard.press('Enter');
  const told = page.locator('.handover-cautions li', { hasText: 'Released into the encoder by name' });
  await told.waitFor();
  expect(await told.innerText()).toContain(whole);
  expect(await read.isChecked()).toBe(false);
  await page.getByRole('button', { name: /^Take back/ }).click();
  await told.waitFor({ state: 'detached' });
  expect(errors).toEqual([]);
});

test('the report is shown as it will be saved: with its own sheet, in a frame where nothing runs', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^Report/ }).click({ timeout: 60_000 });
  const frame = page.locator('iframe.dressed');
  await frame.waitFor({ timeout: 60_000 });
  expect(await frame.getAttribute('sandbox')).toBe('allow-same-origin');
  const inside = page.frameLocator('iframe.dressed');
  await inside.getByRole('heading', { name: 'Cautions' }).waitFor();
  const border = await inside.locator('.cautions').evaluate((element) => getComputedStyle(element).borderTopWidth);
  expect(border).not.toBe('0px');
  const [download] = await Promise.all([
    page.waitForEvent('download', (one) => one.suggestedFilename() === 'report.html'),
    page.keyboard.press('s'),
  ]);
  expect(readFileSync(await download.path(), 'utf8')).toContain('<style>');
  expect(errors).toEqual([]);
});
