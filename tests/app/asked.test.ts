/** A recording with a tester in it, in a real browser: who asks and what was answered is told in words, and an answer is fitted against. */
import { expect, test } from 'vitest';
import { broadcast, polls, textOf } from '../support/polled-log.ts';
import { openPlace } from './open-place.ts';
import { fieldOption, holdIdentifier } from './places-support.ts';
import { benchForTests, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();

test('what a tester asked for is told, refusals in words, and the broadcast field is fitted against the answers', async () => {
  const { page, errors, context } = await bench.open();
  await pick(page, 'Choose files', 'polled.log', textOf([...broadcast, ...polls]));
  await untilRead(page);
  await openPlace(page, 'Payloads');
  await holdIdentifier(page, '0x2A0');
  await fieldOption(page, /number/).click({ timeout: 60_000 });
  await page.keyboard.press('n');
  await page.keyboard.type('swing');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Signals');
  const asked = page.locator('.signals-asked');
  await asked.waitFor({ timeout: 60_000 });
  const words = await asked.innerText();
  expect(words).toContain('0x6A1 asks, 0x6A9 answers');
  expect(words).toContain('240 requests: 120 answered, 120 refused');
  expect(words).toContain('request out of range');
  expect(words).toContain('yours to name');
  await asked.getByRole('button', { name: 'Fit against it' }).click();
  await asked.getByRole('button', { name: 'In the fit' }).waitFor();
  const formula = page.locator('.signals-formula');
  await formula.waitFor({ timeout: 60_000 });
  const scale = Number(/= ([\d.]+) × raw/.exec(await formula.innerText())?.[1]);
  expect(Math.abs(scale - 0.1)).toBeLessThan(0.001);
  expect(errors).toEqual([]);
  await context.close();
});
