/** Exports for sending in a real browser, by keyboard: a span that is refused, a release, a phrase that is wrong and one that is right, and the file read back. */
import { readFileSync } from 'node:fs';
import { unzipSync } from 'fflate';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { violations } from './axe-support.ts';
import { openAtBench, openOutput, sayThePart, vehicleLog } from './bench-support.ts';
import { benchForTests } from './shell-support.ts';

const bench = benchForTests();

async function openSending(page: Page): Promise<void> {
  await openOutput(page, /^For sending/);
  await page.locator('.part-senders').waitFor();
  await sayThePart(page);
}

async function confirmed(page: Page): Promise<Record<string, Uint8Array>> {
  await page.locator('h1').click();
  await page.keyboard.press('p');
  await page.keyboard.type(await page.locator('.confirm-phrase').innerText());
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
  return unzipSync(readFileSync(await download.path()));
}

const text = (bytes: Uint8Array | undefined): string => new TextDecoder().decode(bytes);

test('a span with a pedal in it is refused; nothing goes out unreleased, and nothing is saved before the phrase', async () => {
  const { page, errors } = await openAtBench(bench);
  let saved = 0;
  page.on('download', () => saved++);
  await openSending(page);
  const spans = page.getByRole('group', { name: 'Span at rest' });
  expect(await spans.getByRole('radio').nth(0).isChecked()).toBe(true);
  expect(await spans.getByRole('radio').nth(1).isDisabled()).toBe(true);
  expect(await spans.innerText()).toContain('refused: pedal pressed is marked within it');
  await page.getByText('No frame goes out by itself.').waitFor();
  expect(await page.getByRole('button', { name: /^Release/ }).count()).toBe(3);
  await page.locator('h1').click();
  await page.keyboard.press('s');
  await page.getByText('There is nothing to save here yet').waitFor();
  expect(await violations(page)).toEqual([]);

  await page.getByRole('button', { name: 'Release can0_2B4' }).press('Enter');
  await page.locator('.confirm-phrase').waitFor();
  await page.locator('h1').click();
  await page.keyboard.press('p');
  await page.keyboard.type('send it');
  await page.keyboard.press('Enter');
  await page.getByText('Not the phrase yet.').waitFor();
  const before = await page.locator('.confirm-phrase').innerText();
  await page.getByRole('button', { name: 'Release can0_3C1' }).press('Enter');
  // Another set has another phrase, and what was typed is gone.
  await expect.poll(() => page.locator('.confirm-phrase').innerText()).not.toBe(before);
  expect(await page.locator('.confirm-phrase-field').inputValue()).toBe('');
  expect(await page.getByRole('button', { name: /^Save schedule/ }).isDisabled()).toBe(true);
  expect(saved).toBe(0);
  const files = await confirmed(page);
  expect(Object.keys(files).sort()).toEqual(
    [
      'read-first.txt',
      'signal-map.json',
      'signal_map.c',
      'signal_map.h',
      'signal_map_schedule.c',
      'signal_map_schedule.h',
    ].sort(),
  );
  expect(text(files['read-first.txt'])).toContain('THIS SENDS 2 frames: can0_2B4 (can0/0x2B4), can0_3C1 (can0/0x3C1)');
  expect(text(files['signal_map_schedule.h'])).not.toContain('3C4_INDEX');
  expect(errors).toEqual([]);
}, 120_000);

test('log lines are those of the span and of the frame that was released, and the cautions lie beside', async () => {
  const { page, errors } = await openAtBench(bench);
  await page.setViewportSize({ width: 390, height: 844 });
  await openSending(page);
  await page.getByRole('button', { name: 'Release can0_3C4' }).click();
  await page.locator('h1').click();
  await page.keyboard.press('w');
  await page.getByRole('button', { name: 'Save .log' }).waitFor();
  expect(await violations(page)).toEqual([]);
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  const files = await confirmed(page);
  expect(Object.keys(files).sort()).toEqual(['donor-part.excerpt.log', 'donor-part.excerpt.log.txt']);
  expect(text(files['donor-part.excerpt.log.txt'])).toContain('High voltage');
  const payloads = (lines: string): string[] =>
    lines
      .split('\n')
      .filter((line) => line.includes('3C4#'))
      .map((line) => line.replace(/^.*#/, ''));
  const log = text(files['donor-part.excerpt.log']);
  const found = payloads(log);
  // 13 s of one frame in 0.1 s, between 20.3 and 33.3 s of the recording.
  expect(found.length).toBeGreaterThan(125);
  expect(found.length).toBeLessThan(135);
  expect(log.trim().split('\n').length).toBe(found.length);
  expect(payloads(vehicleLog()).join(' ')).toContain(found.join(' '));
  expect(errors).toEqual([]);
}, 120_000);
