/**
 * A 200 MB log dropped on the page: identifiers appear early, progress moves, the page goes on answering, and stopping works. Nothing here
 * asserts how fast reading is, only that the page is never held up by it.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { launchBrowser } from '../support/browser.ts';
import { writeLargeLog } from '../support/large-log.ts';
import { serveBuild, type Site } from '../support/site.ts';

const BYTES = 200e6;
/** A page that is deaf for longer than this has been held up, whatever else the machine is doing. */
const DEAF_MS = 1000;

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-large-'));
const log = join(folder, 'long-drive.log');
let site: Site;
let browser: Browser;
let lines: number;

beforeAll(async () => {
  lines = writeLargeLog(log, BYTES);
  [site, browser] = await Promise.all([serveBuild(), launchBrowser()]);
});

afterAll(async () => {
  await browser.close();
  await site.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Drops the file as a person would: the page gets a File from the disk, not its bytes. */
async function drop(page: Page, path: string): Promise<void> {
  await page.evaluate(() => {
    const input = document.createElement('input');
    input.type = 'file';
    input.id = 'from-disk';
    input.hidden = true;
    document.body.append(input);
  });
  await page.setInputFiles('#from-disk', path);
  await page.evaluate(() => {
    const input = document.querySelector<HTMLInputElement>('#from-disk');
    const data = new DataTransfer();
    data.items.add(input?.files?.[0] as File);
    input?.remove();
    for (const type of ['dragenter', 'dragover', 'drop']) {
      const event = new DragEvent(type, { bubbles: true, cancelable: true, dataTransfer: data });
      (document.querySelector('main') ?? document.body).dispatchEvent(event);
    }
  });
}

/** From now on, notes how long the page's own thread was ever away from its turn. */
async function watchTurns(page: Page): Promise<void> {
  await page.evaluate(() => {
    const seen = { worstMs: 0 };
    (globalThis as unknown as { turns: typeof seen }).turns = seen;
    let last = performance.now();
    setInterval(() => {
      const now = performance.now();
      seen.worstMs = Math.max(seen.worstMs, now - last - 20);
      last = now;
    }, 20);
  });
}

const worstTurn = (page: Page): Promise<number> =>
  page.evaluate(() => (globalThis as unknown as { turns: { worstMs: number } }).turns.worstMs);

const share = async (page: Page): Promise<number> =>
  Number(await page.getByRole('progressbar', { name: 'Reading' }).getAttribute('aria-valuenow'));

describe('a 200 MB log dropped on the page', () => {
  it('is read to its end while the page goes on answering', async () => {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    await page.goto(site.address);
    await watchTurns(page);
    await drop(page, log);
    await page.getByRole('progressbar', { name: 'Reading' }).waitFor();
    const first = await share(page);
    // The page is used meanwhile: another place and back.
    await page.keyboard.press('2');
    await page.getByRole('heading', { name: 'Marks', exact: true }).waitFor();
    await page.keyboard.press('1');
    await expect.poll(() => share(page).catch(() => 100), { timeout: 60_000, interval: 50 }).toBeGreaterThan(first);
    await page
      .getByText(`${lines.toLocaleString('en-US')} frames`)
      .first()
      .waitFor({ timeout: 120_000 });
    expect(await worstTurn(page)).toBeLessThan(DEAF_MS);
    await page.close();
  });

  it('stops on request, and keeps the page usable', async () => {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    await page.goto(site.address);
    await drop(page, log);
    await page
      .getByRole('button', { name: /Stop reading/ })
      .first()
      .click();
    await page
      .getByText(/stopped/i)
      .first()
      .waitFor();
    expect(await page.getByRole('progressbar', { name: 'Reading' }).count()).toBe(0);
    await page
      .getByRole('button', { name: /Add files/ })
      .first()
      .waitFor();
    await page.close();
  });
});
