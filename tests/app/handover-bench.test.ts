/**
 * The bench in a real browser, by keyboard: wiring answered, trials of an invented part run and judged from their recordings, the set that it needs found and
 * taken into the map. The true need is known to the recordings alone.
 */
import { readFileSync } from 'node:fs';
import { unzipSync } from 'fflate';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { violations } from './axe-support.ts';
import { NEEDED, openAtBench, openOutput, sayThePart, trialLog } from './bench-support.ts';
import { benchForTests } from './shell-support.ts';

const bench = benchForTests();

const NEXT = '.bench-next';
const TRIALS_MOST = 40;

async function answerWiring(page: Page, answers: readonly string[]): Promise<void> {
  for (const text of answers) {
    await page.keyboard.type(text);
    await page.keyboard.press('Enter');
  }
}

const expectFocus = (page: Page, selector: string): Promise<void> =>
  expect.poll(() => page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)).toBe(true);

/** Steps of the keyboard that the checklist asks for: the name, then each item one after the other. */
async function measureSafety(page: Page): Promise<void> {
  await page.keyboard.press('w');
  await expectFocus(page, '.bench-by input');
  await answerWiring(page, ['K. Tester']);
  await answerWiring(page, ['uncoupled, guard on', '0', 'cuts both']);
  // Outside of its range: not ok, whatever is said.
  await answerWiring(page, ['4.5']);
  await answerWiring(page, ['0.02', '60']);
  await expect.poll(() => page.locator(NEXT).innerText()).toContain('Supply of the module (not ok)');
  expect(await page.locator('.bench-pick').count()).toBe(0);
}

async function sentNow(page: Page): Promise<string[]> {
  return page.locator(`${NEXT} .bench-names .mono`).allTextContents();
}

async function pickRecording(page: Page, name: string, log: string, says?: string): Promise<void> {
  const chosen = page.waitForEvent('filechooser');
  await page.keyboard.press('t');
  await (await chosen).setFiles({ name, mimeType: 'text/plain', buffer: Buffer.from(log) });
  await (says ? page.getByText(says) : page.locator('.bench-judged')).waitFor();
}

/** Dropped on the page, where the bench offers to take it. */
async function dropFile(page: Page, name: string, text: string): Promise<void> {
  const dataTransfer = await page.evaluateHandle(
    ([called, content]) => {
      const carried = new DataTransfer();
      carried.items.add(new File([content ?? ''], called ?? '', { type: 'text/plain' }));
      return carried;
    },
    [name, text],
  );
  await page.dispatchEvent('body', 'dragenter', { dataTransfer });
  const target = page.locator('.drop-target', { hasText: 'The recording of trial 1' });
  await target.dispatchEvent('drop', { dataTransfer });
  await page.locator('.bench-judged').waitFor();
}

test('from the first measurement to the frame that is needed, and into the plan', async () => {
  const { page, errors } = await openAtBench(bench);
  await openOutput(page, /^Bench/);
  await page.locator('.part-senders').waitFor();
  await sayThePart(page);
  await page.locator('h1').click();
  await measureSafety(page);

  // Measured again: the older answer stays beside it. Undo and redo walk through answers.
  await page.getByRole('button', { name: 'Measure again Supply of the module' }).press('Enter');
  await page.getByRole('region', { name: 'Supply of the module' }).getByLabel('Measured, V').fill('12,6');
  await page.keyboard.press('Enter');
  const supply = page.getByRole('region', { name: 'Supply of the module' });
  await expect.poll(() => supply.innerText()).toContain('12.6 V');
  expect(await supply.innerText()).toContain('before: not ok, 4.5 V');
  await page.locator('h1').click();
  await page.keyboard.press('Control+z');
  await expect.poll(() => page.locator(NEXT).innerText()).toContain('Supply of the module (not ok)');
  await page.keyboard.press('Control+Shift+z');
  await expect.poll(() => page.locator(NEXT).innerText()).toContain('release frames by name');
  expect(await violations(page)).toEqual([]);

  for (const id of ['2B4', '3C1', '3C4']) {
    await page.getByRole('button', { name: `Release can0_${id}` }).press('Enter');
    await page.getByRole('button', { name: `Take back can0_${id}` }).waitFor();
  }
  await page.getByText('3 of 3 frames sent').waitFor();

  // Not before the phrase is typed.
  const saved: string[] = [];
  page.on('download', (download) => saved.push(download.suggestedFilename()));
  await page.locator('h1').click();
  await page.keyboard.press('s');
  await expectFocus(page, '.confirm-phrase-field');
  await page.keyboard.type('send everything');
  await page.keyboard.press('Enter');
  await page.getByText('Not the phrase yet.').waitFor();
  expect(saved).toEqual([]);
  await page.keyboard.press('Control+a');
  await page.keyboard.type(await page.locator('.confirm-phrase').innerText());
  const [download] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
  const files = unzipSync(readFileSync(await download.path()));
  expect(Object.keys(files)).toContain('trial-1.md');
  expect(Object.keys(files)).toContain('signal_map_schedule.c');
  expect(new TextDecoder().decode(files['trial-1.md'])).toContain(NEEDED);
  expect(await violations(page)).toEqual([]);

  for (let number = 1; number <= TRIALS_MOST; number++) {
    if ((await page.locator('.bench-pick').count()) === 0) break;
    await page.getByRole('heading', { name: new RegExp(`^Trial ${number} `) }).waitFor();
    const sent = await sentNow(page);
    await page.locator('h1').click();
    await pickRecording(page, `trial-${number}.log`, trialLog(sent, 700 + number));
    const verdict = await page.locator('.bench-verdict b').innerText();
    expect([number, verdict]).toEqual([number, sent.includes(NEEDED) ? 'operational' : 'awake, with a fault']);
    if (number === 1) expect(await violations(page)).toEqual([]);
    await page.getByRole('button', { name: 'no', exact: true }).press('Enter');
    await page.locator('.bench-judged').waitFor({ state: 'detached' });
  }
  await expect.poll(() => page.locator(NEXT).innerText()).toContain(`a minimal set of 1: can0_2B4 (${NEEDED})`);
  const known = page.getByRole('region', { name: 'What is known so far' });
  expect(await known.locator('tr', { hasText: NEEDED }).innerText()).toContain('required');
  await page.getByText('The trials as a table').click();
  expect(await violations(page)).toEqual([]);

  // As evidence: the plan shows it, the map has it, and undo takes it out again.
  await page.locator('h1').click();
  await page.keyboard.press('e');
  await page.getByRole('button', { name: /^Take it out of the map/ }).waitFor();
  await expect.poll(() => page.getByRole('button', { name: /^Keep-alive plan/ }).innerText()).toContain('1 required');
  await openOutput(page, /^Keep-alive plan/);
  await page.keyboard.press('l');
  await page.keyboard.press('ArrowDown');
  expect(await page.getByRole('region', { name: 'The frame that is held' }).innerText()).toContain('on the bench');
  await page.keyboard.press('Control+z');
  await expect.poll(() => page.getByRole('button', { name: /^Keep-alive plan/ }).innerText()).not.toContain('required');
  expect(errors).toEqual([]);
}, 240_000);

test('a dropped recording of another trial is unclear, says why, and is set aside', async () => {
  const { page, errors } = await openAtBench(bench, { scheme: 'dark' });
  await page.setViewportSize({ width: 390, height: 844 });
  await openOutput(page, /^Bench/);
  await page.locator('.part-senders').waitFor();
  await sayThePart(page);
  await page.getByLabel('Measured by').fill('K. Tester');
  await page.getByLabel('Measured by').press('Enter');
  await answerWiring(page, ['uncoupled', '0', 'cuts both', '12.6', '0.02', '60']);
  await page.getByRole('button', { name: 'Release can0_2B4' }).click();
  await page.getByText('1 of 1 frame sent').waitFor();
  expect(await violations(page)).toEqual([]);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth);
  expect(wide).toBeLessThanOrEqual(390);
  await dropFile(page, 'other.log', trialLog([], 9));
  expect(await page.locator('.bench-judged').innerText()).toContain('unclear');
  await page.getByRole('button', { name: 'nobody watched' }).click();
  await pickRecording(page, 'again.log', trialLog([], 9), 'This very recording is on record as that of trial 1');
  await page.getByText('The trials as a table').click();
  await page.getByRole('button', { name: 'Set aside trial 1' }).click();
  await page.keyboard.type('another trial was recorded');
  await page.keyboard.press('Enter');
  await page.getByText('Does not count: another trial was recorded.').waitFor();
  expect(await violations(page)).toEqual([]);
  expect(errors).toEqual([]);
}, 120_000);
