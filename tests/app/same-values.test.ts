/** Payloads in a real browser: which other field shows the same value, one click there, both traces on one scale; and where finders differ from a hand. */
import { expect, test } from 'vitest';
import { twoFramesOfOneValue } from '../support/one-value-twice.ts';
import { openPlace } from './open-place.ts';
import { fieldOption, holdIdentifier } from './places-support.ts';
import { benchForTests, pick, untilRead, type OpenedPage } from './shell-support.ts';

const bench = benchForTests();
async function openPayloads(): Promise<OpenedPage> {
  const opened = await bench.open();
  await pick(opened.page, 'Choose files', 'bench.log', twoFramesOfOneValue('two frames'));
  await untilRead(opened.page);
  await openPlace(opened.page, 'Payloads');
  await fieldOption(opened.page, /b0/).waitFor({ timeout: 60_000 });
  return opened;
}

test('a copy names what it shows, lays its trace over, and leads there by keyboard alone', async () => {
  const { page, errors } = await openPayloads();
  await holdIdentifier(page, '0x200');
  await fieldOption(page, /^b0/).click();
  const part = page.locator('.payloads-same');
  await part.waitFor({ timeout: 60_000 });
  const text = await part.innerText();
  expect(text).toMatch(/this one is a copy/i);
  expect(text).toMatch(/the same value as 0x100 b0–1.* x 0\.5/);
  expect(text).toMatch(/ms later/);
  const lay = part.getByRole('button', { name: 'Lay its trace over' });
  await lay.focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => page.getByText('dashed: 0x100').count()).toBe(1);
  expect(await part.getByRole('button', { name: 'Take its trace off' }).getAttribute('aria-pressed')).toBe('true');
  await part.getByRole('button', { name: /^0x100/ }).focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => part.innerText()).toMatch(/first of 2/i);
  expect(await page.getByRole('option', { name: /^0x100 on/ }).getAttribute('aria-selected')).toBe('true');
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a field placed across what the finders have is kept, and the difference is said beside it', async () => {
  const { page, errors } = await openPayloads();
  await holdIdentifier(page, '0x300');
  const weave = page.locator('.payloads-weave');
  await weave.focus();
  await page.keyboard.press('ArrowDown');
  for (let k = 0; k < 7; k++) await page.keyboard.press('Shift+ArrowDown');
  await page.keyboard.press('f');
  const made = fieldOption(page, /by hand/);
  await made.waitFor({ timeout: 60_000 });
  await made.click();
  await expect
    .poll(() => page.locator('.payloads-panel').innerText(), { timeout: 60_000 })
    .toMatch(/Left to themselves the finders have the field .* bits more to write down/);
  // How sure a finder is says nothing of what a person placed.
  expect(await page.locator('.payloads-held').innerText()).not.toContain('confidence');
  expect(errors).toEqual([]);
  await page.context().close();
});
