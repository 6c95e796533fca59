/** Payloads in a real browser: identifiers, weave, fields, sweeping, responders; with the mouse and by keyboard alone. */
import { expect, test } from 'vitest';
import { benchForTests } from './shell-support.ts';
import { fieldOption, holdIdentifier, openMarked } from './places-support.ts';

const bench = benchForTests();

test('the pedal answers its presses, and its row leads to its field', async () => {
  const { page, errors } = await openMarked(bench);
  const rows = page.locator('.payloads-rows tbody tr');
  await rows.first().waitFor({ timeout: 60_000 });
  const first = await rows.first().innerText();
  expect(first).toContain('0x120');
  expect(first).toContain('<.001');
  // All eight repetitions are laid over each other (a gap may cut one into two).
  await expect.poll(() => rows.first().locator('svg path').count()).toBeGreaterThanOrEqual(8);
  await rows.first().getByRole('button').click();
  expect(await page.locator('.payloads-id[aria-selected="true"]').innerText()).toContain('0x120');
  expect(await page.locator('.payloads-tools-name b').innerText()).toMatch(/^b0/);
  // No other identifier answers: they mind their own business.
  expect(await rows.allInnerTexts()).toSatisfy((texts: string[]) => texts.every((text) => text.includes('0x120')));
  expect(errors).toEqual([]);
});

test('a sweep over threads makes a field whose order and coding can be tried, kept, and undone', async () => {
  const { page, errors } = await openMarked(bench);
  await holdIdentifier(page, '0x120');
  const weave = page.locator('.payloads-weave');
  const box = await weave.boundingBox();
  if (!box) throw new Error('no weave');
  // Byte 2 bit 7 down to byte 3 bit 0: 7 px a thread, 61 px from byte to byte at this height.
  const pitch = (box.height - 35) / 64;
  const top = (byte: number): number => byte * (pitch * 8 + 5);
  await page.mouse.move(box.x + 200, box.y + top(2) + pitch / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + 201, box.y + top(2) + 30, { steps: 4 });
  await page.mouse.move(box.x + 201, box.y + top(3) + 7.5 * pitch, { steps: 8 });
  await page.mouse.up();
  const tools = page.locator('.payloads-tools');
  expect(await tools.innerText()).toContain('b2–3');
  expect(await tools.innerText()).toContain('16 bits, big');
  await tools.getByRole('button', { name: 'little' }).click();
  await tools.getByLabel('Coding').selectOption('signed');
  expect(await tools.innerText()).toContain('16 bits, little, signed');
  await page.keyboard.press('f');
  const made = fieldOption(page, /b2–3.*by hand/);
  await made.waitFor({ timeout: 60_000 });
  await page.keyboard.press('Control+z');
  await expect.poll(() => page.getByRole('option', { name: /b2–3.*by hand/ }).count()).toBe(0);
  expect(errors).toEqual([]);
});

test('a proposal is refused and taken back', async () => {
  const { page, errors } = await openMarked(bench);
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /^b3/).click();
  await page.keyboard.press('x');
  const refused = fieldOption(page, /refused/);
  await refused.waitFor({ timeout: 60_000 });
  await refused.click();
  expect(await page.locator('p.payloads-tools').innerText()).toMatch(/^b3\S* was refused by hand/);
  await page.keyboard.press('x');
  await expect.poll(() => page.getByRole('option', { name: /refused/ }).count(), { timeout: 60_000 }).toBe(0);
  await fieldOption(page, /^b3/).waitFor({ timeout: 60_000 });
  expect(errors).toEqual([]);
});

test('labels keep to their threads while the panel is scrolled to a rule, and are uncovered for the keyboard', async () => {
  const { page, errors } = await openMarked(bench, { height: 720 });
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /counter/).click();
  await page.getByRole('button', { name: 'Change the rule' }).click();
  const topOf = async (selector: string): Promise<number> => {
    const box = await page.locator(selector).boundingBox();
    if (!box) throw new Error(`no ${selector}`);
    return box.y;
  };
  const off = async (): Promise<number> =>
    Math.abs((await topOf('.payloads-fields')) - (await topOf('.payloads-weave')));
  const scrolled = (): Promise<number> => page.evaluate(() => document.querySelector('.panel')?.scrollTop ?? 0);
  await page.evaluate(() => document.querySelector('.panel')?.scrollTo(0, 0));
  expect(await off()).toBeLessThan(1);
  await page.evaluate(() => document.querySelector('.panel')?.scrollTo(0, 10_000));
  await expect.poll(scrolled).toBeGreaterThan(150);
  const farthest = await scrolled();
  await expect.poll(off).toBeLessThan(1);
  await page.keyboard.press('Tab');
  await page.locator('.payloads-fields').focus();
  await expect.poll(scrolled).toBeLessThan(farthest - 100);
  await expect.poll(off).toBeLessThan(1);
  expect(errors).toEqual([]);
});

test('by keyboard alone: find an identifier, walk the threads, hold a field, see its value at the cursor', async () => {
  const { page, errors } = await openMarked(bench);
  await page.keyboard.press('/');
  await page.keyboard.type('2b4');
  await page.keyboard.press('Enter');
  await expect.poll(() => page.locator('.payloads-id[aria-selected="true"]').innerText()).toContain('0x2B4');
  await page.keyboard.press('Escape');
  await page.locator('.payloads-weave').focus();
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Enter');
  expect(await page.locator('.payloads-tools-name b').innerText()).toMatch(/^b0/);
  await page.keyboard.press('ArrowRight');
  // Shift sweeps from the thread that was reached.
  for (let k = 0; k < 3; k++) await page.keyboard.press('Shift+ArrowDown');
  expect(await page.locator('.payloads-tools-name').innerText()).toContain('4 bits');
  expect(await page.locator('.payloads-weave [aria-live]').innerText()).toMatch(
    /^byte 0 bit 4, set in \d+ % of frames/,
  );
  await page.keyboard.press('Escape');
  expect(await page.locator('p.payloads-tools').count()).toBe(1);
  expect(errors).toEqual([]);
});

test('behind the weave stands its table, with what each thread does', async () => {
  const { page } = await openMarked(bench);
  await holdIdentifier(page, '0x120');
  const row = page.locator('.payloads-weave table tr', { hasText: 'byte 6 bit 3' });
  await expect.poll(() => row.count()).toBe(1);
  // Byte 6 is 0xFF in every frame.
  expect(await row.innerText()).toMatch(/100 %\s+0\.0 %/);
});
