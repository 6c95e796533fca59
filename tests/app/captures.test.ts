/** Captures in a real browser: dropping, reading, what was not taken, load, columns, trimming, stopping, the demo. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { benchForTests, logLines, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();

/** Drops files on the window as the system would: enter, over, drop. */
async function drop(page: Page, files: readonly { name: string; text: string }[], target = 'body'): Promise<void> {
  const data = await page.evaluateHandle((list) => {
    const transfer = new DataTransfer();
    for (const { name, text } of list) transfer.items.add(new File([text], name));
    return transfer;
  }, files);
  await page.dispatchEvent('body', 'dragenter', { dataTransfer: data });
  await page.dispatchEvent(target, 'drop', { dataTransfer: data });
}

test('a dropped log is surveyed: identifiers, periods, the silence of both buses, and the same in a table', async () => {
  const { page, context, errors } = await bench.open();
  await drop(page, [{ name: 'yard.log', text: logLines() }]);
  await untilRead(page);
  const names = page.locator('.thread-name');
  await names.first().waitFor();
  const rows = await names.allTextContents();
  expect(rows).toHaveLength(4);
  expect(rows.some((row) => row.includes('0x120') && row.includes('10 ms'))).toBe(true);
  expect(rows.some((row) => row.includes('0x18A0F101') && row.includes('100 ms'))).toBe(true);
  expect(await page.getByRole('table', { name: 'Silences' }).locator('tbody tr').count()).toBe(2);
  const survey = page.locator('table', { hasText: 'Survey of the capture' });
  expect(await survey.locator('tbody tr').count()).toBe(4);
  expect(errors).toEqual([]);
  await context.close();
});

test('every line that is not taken is counted and shown with its number, reason and text', async () => {
  const { page, context } = await bench.open();
  const lines = logLines(1_700_000_000, 10).split('\n');
  lines.splice(40, 0, '(1700000000.5) can0 123456789#00', 'candle wax on the keyboard (');
  await drop(page, [{ name: 'yard.log', text: lines.join('\n') }]);
  await untilRead(page);
  const table = page.getByRole('table', { name: 'Rejected lines of yard.log' });
  expect(await table.locator('tbody tr').first().textContent()).toContain('41');
  await page.getByRole('button', { name: 'Show them with their text' }).click();
  expect(await table.textContent()).toContain('123456789#00');
  await context.close();
});

test('load appears with the bit rate, and its mean is what the frames on the bus come to', async () => {
  const { page, context } = await bench.open();
  await drop(page, [{ name: 'yard.log', text: logLines(1_700_000_000, 50) }]);
  await untilRead(page);
  const label = page.locator('.load-label').first();
  await expect.poll(() => label.textContent()).toContain('give the bit rate');
  await page.getByLabel('Bit rate of can0, kbit/s').fill('125');
  await page.keyboard.press('Enter');
  await expect.poll(() => label.textContent()).toMatch(/mean \d+ %/);
  const mean = Number(/mean (\d+) %/.exec((await label.textContent()) ?? '')?.[1]);
  // ISO 11898-1 without stuffing: 47 + 8 s bits an 11-bit frame; 100/s of 8 bytes, 50/s of 4, 10/s of 8; stuffing adds at most a fifth.
  const bare = (100 * 111 + 50 * 79 + 10 * 111) / 125_000;
  expect(mean / 100).toBeGreaterThanOrEqual(bare - 0.01);
  expect(mean / 100).toBeLessThanOrEqual(bare * 1.25);
  await context.close();
});

test('several files dropped together are one capture; dropped on "add" they join the open one', async () => {
  const { page, context } = await bench.open();
  const text = logLines(1_700_000_000, 20).split('\n');
  const half = Math.floor(text.length / 2);
  const [first, second] = [text.slice(0, half).join('\n'), text.slice(half).join('\n')];
  await drop(page, [
    { name: 'a.log', text: first },
    { name: 'b.log', text: second },
  ]);
  await untilRead(page);
  expect(await page.locator('.lane').count()).toBe(1);
  const frames = await page.locator('.panel .figure').first().textContent();
  await page.getByRole('button', { name: 'Remove' }).click();
  await page.getByRole('button', { name: 'Open the demo dossier' }).waitFor();
  await drop(page, [{ name: 'a.log', text: first }]);
  await untilRead(page);
  const data = await page.evaluateHandle((part) => {
    const transfer = new DataTransfer();
    transfer.items.add(new File([part], 'b.log'));
    return transfer;
  }, second);
  await page.dispatchEvent('body', 'dragenter', { dataTransfer: data });
  await page.locator('[data-drop=add]').waitFor();
  await page.dispatchEvent('[data-drop=add]', 'drop', { dataTransfer: data });
  await expect.poll(() => page.locator('.panel .figure').first().textContent()).toBe(frames);
  expect(await page.locator('.lane').count()).toBe(1);
  await context.close();
});

test('removing a capture can be undone, and it is read again', async () => {
  const { page, context } = await bench.open();
  await drop(page, [{ name: 'yard.log', text: logLines(1_700_000_000, 10) }]);
  await untilRead(page);
  await page.getByRole('button', { name: 'Remove' }).click();
  await page.getByRole('button', { name: 'Open the demo dossier' }).waitFor();
  await page.keyboard.press('Control+z');
  await untilRead(page);
  expect(await page.locator('.lane').count()).toBe(1);
  await context.close();
});

test('a table with headings of its own is read by columns chosen by hand, with a preview of what that gives', async () => {
  const { page, context } = await bench.open();
  const rows = Array.from(
    { length: 400 },
    (_, n) => `${(n * 0.02).toFixed(3)};${n % 2 ? 288 : 692};7;${n % 256};${(n * 7) % 256};3`,
  );
  await drop(page, [{ name: 'bench.csv', text: ['Zahl;Nr;x;p;q;r', ...rows].join('\n') }]);
  // Understood or not, the chooser must lead to the same frames.
  const chooser = page.getByLabel('Columns of bench.csv');
  const byHand = page.getByRole('button', { name: 'Which column is which?' });
  await chooser.or(byHand).first().waitFor();
  if (await byHand.isVisible()) await byHand.click();
  await chooser.getByLabel('Column 1, Zahl').selectOption('time seconds');
  await chooser.getByLabel('Column 2, Nr').selectOption('id decimal');
  await chooser.getByLabel('Column 3, x').selectOption('');
  for (const name of ['Column 4, p', 'Column 5, q', 'Column 6, r'])
    await chooser.getByLabel(name).selectOption('bytes decimal');
  await expect.poll(() => chooser.textContent()).toContain('2 identifiers in 400 frames');
  await chooser.getByRole('button', { name: 'Read it so' }).click();
  await untilRead(page);
  await expect
    .poll(async () => (await page.locator('.thread-name').allTextContents()).join())
    .toMatch(/0x120.*0x2B4|0x2B4.*0x120/);
  await context.close();
});

test('a file in which nothing is a frame fails with its cause, and everything else stays', async () => {
  const { page, context } = await bench.open();
  await drop(page, [{ name: 'shopping.txt', text: 'bread\nmilk\nnails\n'.repeat(40) }]);
  await page.getByRole('heading', { name: 'Not read' }).waitFor();
  expect(await page.locator('.panel').textContent()).toContain('shopping.txt');
  await page.keyboard.press('2');
  expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe('Marks');
  await context.close();
});

test('the trim handle moves by keyboard, the survey follows, and it can be taken back', async () => {
  const { page, context } = await bench.open();
  await drop(page, [{ name: 'yard.log', text: logLines(1_700_000_000, 50) }]);
  await untilRead(page);
  const handle = page.getByRole('slider', { name: 'Keep from' });
  await handle.focus();
  for (let i = 0; i < 3; i++) await page.keyboard.press('Shift+ArrowRight');
  await page.getByText(/keeps 0:15/).waitFor();
  await page.getByRole('button', { name: 'keep all' }).click();
  await page.getByText(/keeps 0:15/).waitFor({ state: 'hidden' });
  await context.close();
});

test('a 200 MB log: identifiers within a second or two, progress moves, typing is not held up, Esc stops it', async () => {
  const { page, context, errors } = await bench.open();
  const times = 200e6 / logLines().length;
  await page.evaluate(
    async ([block, repeats]) => {
      const file = new File(
        Array.from({ length: repeats as number }, () => block as string),
        'long.log',
      );
      const transfer = new DataTransfer();
      transfer.items.add(file);
      document.body.dispatchEvent(new DragEvent('drop', { dataTransfer: transfer, bubbles: true, cancelable: true }));
    },
    [logLines(), Math.ceil(times)] as const,
  );
  const bar = page.getByRole('progressbar', { name: 'Reading' });
  await bar.waitFor();
  await page.locator('.thread-name').first().waitFor({ timeout: 10_000 });
  const shares: number[] = [];
  // The page answers while it reads: it never stands still for a second between two frames drawn.
  for (let i = 0; i < 6 && (await bar.isVisible()); i++) {
    const waited = await page.evaluate(() => {
      const from = performance.now();
      return new Promise<number>((resolve) => requestAnimationFrame(() => resolve(performance.now() - from)));
    });
    expect(waited).toBeLessThan(1000);
    shares.push(Number(await bar.getAttribute('aria-valuenow', { timeout: 2000 }).catch(() => '100')));
    await page.waitForTimeout(200);
  }
  expect(Math.max(...shares)).toBeGreaterThan(Math.min(...shares));
  if (await bar.isVisible()) {
    await page.keyboard.press('Escape');
    await page.getByRole('heading', { name: 'Stopped' }).waitFor({ timeout: 5000 });
  }
  expect(errors).toEqual([]);
  await context.close();
});

test('one button opens the demo dossier: five captures with roles, marks and bit rates', async () => {
  const { page, context, errors } = await bench.open();
  await page.getByRole('button', { name: 'Open the demo dossier' }).click();
  await expect.poll(() => page.locator('.lane').count(), { timeout: 120_000 }).toBe(5);
  await expect.poll(() => page.locator('.lane-bar.ready').count(), { timeout: 120_000 }).toBe(5);
  expect(await page.locator('.rail-item', { hasText: 'Marks' }).textContent()).toMatch(/\d+ marks/);
  expect(errors).toEqual([]);
  await context.close();
});

test('reading again while pictures are still being asked for leaves none of them waiting for ever', async () => {
  const { page, context, errors } = await bench.open();
  await drop(page, [{ name: 'yard.log', text: logLines() }]);
  await untilRead(page);
  // Questions on their way while the files, and with them the engine, are changed.
  await page.locator('.ruler-time').hover();
  for (let i = 0; i < 6; i++) await page.mouse.wheel(0, -240);
  await pick(page, 'Add files to it', 'later.log', logLines(1_700_000_200, 20));
  await expect.poll(() => page.locator('.panel .figure').first().textContent()).toMatch(/frames/);
  await untilRead(page);
  await page.keyboard.press('0');
  await expect.poll(() => page.getByRole('img', { name: /Load of can0/ }).count()).toBe(1);
  await page.locator('.thread-name').first().waitFor();
  await expect.poll(() => page.locator('.ruler-words').textContent()).toContain('3:');
  expect(errors).toEqual([]);
  await context.close();
});
