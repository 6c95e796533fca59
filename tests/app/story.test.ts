/** What follows an action, told in a real browser: steps in order, each repetition on the ruler by click and by key, what is missing said. */
import { expect, test } from 'vitest';
import { openPlace } from './open-place.ts';
import { marksCsv, ORIGIN_S } from './places-support.ts';
import { benchForTests, logLines, pick, PRESSES, untilRead } from './shell-support.ts';

const bench = benchForTests();

/** Two modules of an invented vehicle: one says a press at once, the other takes it up 0.3 s later, but not the sixth press. */
function answerLines(): string[] {
  const lines: string[] = [];
  const isPressed = (atS: number): boolean => PRESSES.some(([from, to]) => atS >= from && atS < to);
  const isTaken = (atS: number): boolean =>
    PRESSES.some(([from, to], k) => k !== 5 && atS >= from + 0.3 && atS < to + 0.1);
  for (let n = 0; n < 110 * 50; n++) {
    const atS = n / 50 + 0.001;
    if (atS > 60 && atS < 64) continue;
    const stamp = (ORIGIN_S + atS).toFixed(6);
    lines.push(`(${stamp}) can0 310#${isPressed(atS) ? '01' : '00'}0000`);
    lines.push(`(${stamp}) can1 455#00${isTaken(atS) ? '20' : '00'}`);
  }
  return lines;
}

const stampOf = (line: string): number => Number(/^\(([\d.]+)\)/.exec(line)?.[1]);
const recording = (): string =>
  [...logLines(ORIGIN_S).trimEnd().split('\n'), ...answerLines()].sort((a, b) => stampOf(a) - stampOf(b)).join('\n');

test('steps stand in order; a repetition by click or key moves cursor and view, and says what it lacks; Enter opens the payload', async () => {
  const { page, errors, context } = await bench.open();
  await pick(page, 'Choose files', 'yard.log', recording());
  await untilRead(page);
  await openPlace(page, 'Marks');
  await pick(page, 'Import', 'marks.csv', marksCsv());
  await page.locator('.offset-figure').waitFor({ timeout: 120_000 });
  await page.keyboard.press('s');
  const steps = page.getByRole('listbox', { name: /^Steps after pedal pressed/ });
  await steps.waitFor({ timeout: 60_000 });
  const told = await steps.getByRole('option').evaluateAll((all) => all.map((one) => one.getAttribute('aria-label')));
  const first = told.findIndex((words) => words?.includes('0x310 b0.0') && words.includes('from 0 to 1'));
  const second = told.findIndex((words) => words?.includes('0x455 b1.5') && words.includes('from 0 to 1'));
  expect(first).toBeGreaterThanOrEqual(0);
  expect(second).toBeGreaterThan(first);
  expect(told[second]).toContain('seen 7 of 8');

  await page.getByRole('button', { name: /^repetition 6 at 1:0/ }).click();
  await expect.poll(() => page.locator('.story-repetitions p').innerText()).toMatch(/missing\. The ruler shows it/);
  expect(await page.locator('.story-step.lacks').count()).toBeGreaterThan(0);
  const address = (): URLSearchParams => new URLSearchParams(new URL(page.url()).hash.split('?')[1]);
  const [from, to] = PRESSES[5] as readonly [number, number];
  await expect.poll(() => Math.abs(Number(address().get('at')) - from)).toBeLessThan(1);
  expect(Number(address().get('from'))).toBeLessThan(from);
  expect(Number(address().get('to'))).toBeLessThan(to + 20);
  await page.keyboard.press('.');
  await expect.poll(() => Math.abs(Number(address().get('at')) - (PRESSES[6]?.[0] ?? 0))).toBeLessThan(1);

  await steps.focus();
  for (let k = 0; k <= second; k++) await page.keyboard.press('ArrowDown');
  await expect.poll(() => page.locator('.step-words').innerText()).toContain('Missing in repetition 6');
  await page.keyboard.press('Enter');
  await page.locator('.payloads-id.selected').filter({ hasText: '0x455' }).waitFor();
  expect(errors).toEqual([]);
  await context.close();
});

test('the offset is held by keys in the agreement curve, and found again', async () => {
  const { page, errors, context } = await bench.open();
  await pick(page, 'Choose files', 'yard.log', recording());
  await untilRead(page);
  await openPlace(page, 'Marks');
  await pick(page, 'Import', 'marks.csv', marksCsv());
  const slider = page.getByRole('slider', { name: /^Agreement of marks and fields/ });
  await slider.waitFor({ timeout: 120_000 });
  const heldS = async (): Promise<number> => Number(await slider.getAttribute('aria-valuenow'));
  const foundS = await heldS();
  await slider.focus();
  await page.keyboard.press('Shift+ArrowRight');
  await expect.poll(async () => (await heldS()) - foundS).toBeCloseTo(1, 1);
  await page.keyboard.press('ArrowLeft');
  await expect.poll(async () => (await heldS()) - foundS).toBeCloseTo(0.98, 2);
  await page.getByText('given by hand').first().waitFor();
  await page.getByRole('button', { name: 'Find it from the data' }).click();
  await expect.poll(heldS, { timeout: 60_000 }).toBeCloseTo(foundS, 2);
  expect(errors).toEqual([]);
  await context.close();
});
