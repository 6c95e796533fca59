/** A page on the production build, and recordings of an invented bus to hand to it. */
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { launchBrowser } from '../support/browser.ts';
import { serveBuild, type Site } from '../support/site.ts';
import { createRandom } from '../../src/kit/random.ts';

export interface Bench {
  /** A page in a context (storage) of its own, with nothing on its conscience: errors on it fail the test that closes it. */
  open(options?: OpenOptions): Promise<OpenedPage>;
  address(): string;
}
export interface OpenOptions {
  readonly hash?: string;
  readonly width?: number;
  readonly height?: number;
  readonly scheme?: 'light' | 'dark';
  readonly context?: BrowserContext;
}
export interface OpenedPage {
  readonly page: Page;
  readonly context: BrowserContext;
  /** What went wrong on the page, policy violations included. */
  readonly errors: string[];
}

export function benchForTests(): Bench {
  let browser: Browser;
  let site: Site;
  beforeAll(async () => {
    site = await serveBuild();
    browser = await launchBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await site?.close();
  });
  return {
    address: () => site.address,
    async open({ hash = '', width = 1440, height = 900, scheme = 'light', context: given } = {}) {
      const context =
        given ??
        (await browser.newContext({ viewport: { width, height }, colorScheme: scheme, hasTouch: width < 500 }));
      const page = await context.newPage();
      const errors: string[] = [];
      page.on('pageerror', (error) => errors.push(error.message));
      page.on('console', (message) => {
        if (message.type() === 'error') errors.push(message.text());
      });
      // A listener from the start: else the first chooser may open before the browser has been told to hand it over.
      page.on('filechooser', () => undefined);
      await page.goto(site.address + hash);
      await page.locator('.rail, .bottom-bar').first().waitFor({ state: 'attached' });
      return { page, context, errors };
    },
  };
}

/** Picks a file by the button with this name. */
export async function pick(page: Page, button: string, name: string, text: string | Buffer): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: button }).first().click(),
  ]);
  await chooser.setFiles({ name, mimeType: 'text/plain', buffer: Buffer.from(text) });
}

export const PRESSES: readonly (readonly [number, number])[] = [
  [10, 13],
  [21, 23.5],
  [30, 34],
  [41, 43],
  [55, 58.5],
  [66, 69],
  [80, 84],
  [93, 95],
];

/**
 * Two buses of an invented vehicle over 110 s, as log lines: 0x120 carries a pedal that follows PRESSES, a counter
 * and a slow value; the others mind their own business. Nothing on either bus from 60 s to 64 s.
 */
export function logLines(originS = 1_700_000_000, lastsS = 110): string {
  const random = createRandom(20_261_125);
  const rows: { atS: number; text: string }[] = [];
  const senders = [
    { bus: 'can0', id: '120', periodS: 0.01 },
    { bus: 'can0', id: '2B4', periodS: 0.02 },
    { bus: 'can0', id: '3C1', periodS: 0.1 },
    { bus: 'can1', id: '18A0F101', periodS: 0.1 },
  ];
  for (const { bus, id, periodS } of senders) {
    const phase = random.next() * periodS;
    for (let n = 0; n * periodS + phase < lastsS; n++) {
      const atS = n * periodS + phase + random.normal() * 1e-5;
      if (atS > 60 && atS < 64) continue;
      const payload = payloadOf(id, n, atS, random.next());
      rows.push({ atS, text: `(${(originS + atS).toFixed(6)}) ${bus} ${id}#${payload}` });
    }
  }
  return rows
    .sort((a, b) => a.atS - b.atS)
    .map(({ text }) => `${text}\n`)
    .join('');
}

const hex = (bytes: readonly number[]): string =>
  bytes.map((byte) => (Math.round(byte) & 255).toString(16).toUpperCase().padStart(2, '0')).join('');

function payloadOf(id: string, n: number, atS: number, chance: number): string {
  const press = PRESSES.find(([from, to]) => atS >= from && atS < to);
  const pedal = press ? Math.min(1, (atS - press[0]) / 0.4) * 180 + chance * 3 : 0;
  if (id === '120') return hex([pedal, 0x20, n % 16, atS / 2, 0, 0, 0xff, 0xff]);
  if (id === '2B4') return hex([120 + 40 * Math.sin(atS / 9), 3, n % 16, 0]);
  if (id === '3C1') return hex([20 + atS / 30, 0x55, 0, 0, 0, 0, 0, 1]);
  return hex([0, 7, atS / 11, 0]);
}

/** Waits until the capture that was handed over has been read. */
export async function untilRead(page: Page): Promise<void> {
  await page
    .getByText(/\d frames$/)
    .first()
    .waitFor({ timeout: 60_000 });
}
