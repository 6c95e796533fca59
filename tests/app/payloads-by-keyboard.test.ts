/** Payloads walked wholly by keyboard on the demo: a frame, its bits, a field of one's own, a guard's rule, undo, a refusal. */
import { expect, test } from 'vitest';
import { expectFocusKept, tabTo } from './by-keyboard.ts';
import { openPlace } from './open-place.ts';
import { fieldOption } from './places-support.ts';
import { benchForTests, untilRead } from './shell-support.ts';

const bench = benchForTests();
const PATIENCE = { timeout: 60_000 };

test('from the first page to a kept rule and a refused field, with no mouse and the focus in sight all the way', async () => {
  const { page, errors } = await bench.open();
  const press = async (key: string, times = 1): Promise<void> => {
    for (let k = 0; k < times; k++) await page.keyboard.press(key);
  };
  const toolsName = page.locator('.payloads-tools-name');
  const guard = page.locator('.payloads-guard');
  const verdict = guard.getByRole('status');

  await tabTo(page, /Open the demo dossier/);
  await press('Enter');
  await page.getByText('drive-1.log').first().waitFor(PATIENCE);
  await untilRead(page);
  await openPlace(page, 'Payloads');
  await page
    .getByRole('listbox', { name: /^Fields/ })
    .getByRole('option')
    .first()
    .waitFor(PATIENCE);

  // A frame: found by what it is called, then by arrows.
  await press('/');
  await page.keyboard.type('2a0');
  await press('Enter');
  const chosen = page.locator('.payloads-id[aria-selected="true"]');
  await expect.poll(() => chosen.innerText()).toContain('0x2A0');
  await press('Escape');
  await tabTo(page, /^Identifiers,/);
  await press('ArrowDown');
  await expect.poll(() => chosen.innerText()).toContain('0x2A1');
  await press('ArrowUp');
  await expect.poll(() => chosen.innerText()).toContain('0x2A0');
  await fieldOption(page, /checksum/).waitFor(PATIENCE);

  // The bits: one at a time, a byte at a time, and what lies there.
  await tabTo(page, /^Weave of/);
  const spoken = page.locator('.payloads-weave [aria-live]');
  await press('ArrowDown', 2);
  await expect.poll(() => spoken.innerText()).toMatch(/^byte 0 bit 6, set in \d+ % of frames/);
  await press('Enter');
  await expect.poll(() => toolsName.innerText()).toMatch(/^b0\.7–b1\.6/);
  await press('ArrowUp');
  await press('Control+ArrowDown', 2);
  await expect.poll(() => spoken.innerText()).toMatch(/^byte 2 bit 7/);

  // A sweep: wide, narrower, wide again; its order by key, its coding by its chooser.
  await press('Control+Shift+ArrowDown');
  await press('Shift+ArrowDown', 7);
  await expect.poll(() => toolsName.innerText()).toMatch(/^b2–3\s+.*16 bits, big/);
  await press('Shift+ArrowUp');
  await expect.poll(() => toolsName.innerText()).toContain('15 bits, big');
  await press('Shift+ArrowDown');
  await press('o');
  await expect.poll(() => toolsName.innerText()).toContain('16 bits, little');
  await tabTo(page, /^big| big$/);
  await press('Enter');
  await expect.poll(() => toolsName.innerText()).toContain('16 bits, big');
  await tabTo(page, /^Coding/);
  await press('ArrowDown');
  await expect.poll(() => toolsName.innerText()).toContain('16 bits, big, signed');
  await tabTo(page, /Keep field/);
  await press('Enter');
  const ownField = page.getByRole('option', { name: /b2–3.*by hand/ });
  await ownField.first().waitFor(PATIENCE);
  await expectFocusKept(page);
  await press('Control+z');
  await expect.poll(() => ownField.count(), PATIENCE).toBe(0);
  await expectFocusKept(page);

  // The guard: opened, its rule changed, taken back a step, kept, and the keeping undone.
  await tabTo(page, /^Fields,/);
  await press('End');
  await expect.poll(() => verdict.innerText(), PATIENCE).toMatch(/^5,459 of 5,459 frames pass/);
  await tabTo(page, /Change the rule/);
  await press('Enter');
  await tabTo(page, /^byte 0\b/);
  await press('ArrowRight');
  await press('Space');
  await expect.poll(() => verdict.innerText(), PATIENCE).toMatch(/^(\d,)?\d{1,3} of 5,459 frames pass/);
  await expect.poll(() => verdict.innerText(), PATIENCE).not.toMatch(/^5,459 of/);
  await tabTo(page, /^\s*Undo$/);
  await press('Enter');
  await expect.poll(() => verdict.innerText(), PATIENCE).toMatch(/^5,459 of 5,459 frames pass/);
  await expectFocusKept(page);
  await tabTo(page, /^byte 1\b/);
  await press('Space');
  await tabTo(page, /Keep this rule/);
  await press('Enter');
  await expect.poll(() => guard.innerText(), PATIENCE).toMatch(/kept by hand/);
  await expectFocusKept(page);
  await press('Control+z');
  await expect.poll(() => guard.innerText(), PATIENCE).toMatch(/as found/);
  await expect.poll(() => verdict.innerText(), PATIENCE).toMatch(/^5,459 of 5,459 frames pass/);

  // A field refused by its button, and taken back by key.
  await tabTo(page, /^Fields,/);
  await press('Home');
  const first = (await toolsName.innerText()).split(/\s/)[0] ?? '';
  await tabTo(page, /^\s*Refuse/);
  await press('Enter');
  const refused = page.getByRole('option', { name: /refused/ });
  await refused.first().waitFor(PATIENCE);
  await expectFocusKept(page);
  await tabTo(page, /^Fields,/);
  await press('Home');
  await page.getByRole('button', { name: /Take it back/ }).waitFor(PATIENCE);
  await press('x');
  await expect.poll(() => refused.count(), PATIENCE).toBe(0);
  expect(await page.getByRole('listbox', { name: /^Fields/ }).innerText()).toContain(first);
  expect(errors).toEqual([]);
  await page.context().close();
});
