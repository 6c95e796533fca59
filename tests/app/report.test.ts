/** The report in a real Chromium: what axe-core finds by day, by night and at phone width; that nothing is wider than the screen; that print is paper. */
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { cautionsFor } from '../../src/handover/cautions.ts';
import { reportHtml } from '../../src/handover/report/html.ts';
import { seenRecord } from '../handover/report/extras.ts';
import { pumpMap, tracesFor } from '../handover/report/maps.ts';
import { launchBrowser } from '../support/browser.ts';
import { violations } from './axe-support.ts';

const html = reportHtml({
  map: pumpMap,
  cautions: cautionsFor(pumpMap),
  leftOut: [{ name: 'speed_demand', why: 'the rule of its checksum is not known' }],
  extras: { traces: tracesFor(pumpMap), bench: seenRecord },
});
// The policy of the file forbids every script; axe-core is one.
const withoutPolicy = html.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, '');

let browser: Browser;
beforeAll(async () => {
  browser = await launchBrowser();
});
afterAll(() => browser.close());

test.each([
  ['light', 1440, 900],
  ['dark', 1440, 900],
  ['light', 390, 844],
] as const)(
  'axe-core finds nothing (%s, %s x %s), and nothing is wider than the screen',
  async (colorScheme, width, height) => {
    const page = await browser.newPage({ viewport: { width, height }, colorScheme });
    await page.setContent(withoutPolicy);
    expect(await violations(page)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    await page.close();
  },
);

test('as it is written it breaks no policy of its own, and what it draws has its inks', async () => {
  const page = await browser.newPage({ colorScheme: 'dark' });
  const errors: string[] = [];
  page.on('console', (message) => message.type() === 'error' && errors.push(message.text()));
  page.on('request', (request) => errors.push(request.url()));
  await page.setContent(html);
  expect(errors).toEqual([]);
  const inks = await page.evaluate(() => {
    const drawn = [...document.querySelectorAll('svg path[stroke]')].map((path) => getComputedStyle(path).stroke);
    return { drawn: drawn.length, none: drawn.filter((ink) => ink === 'none').length };
  });
  expect(inks.drawn).toBeGreaterThan(50);
  expect(inks.none).toBe(0);
  await page.close();
});

test('print is paper, whatever the screen is', async () => {
  const page = await browser.newPage({ colorScheme: 'dark', viewport: { width: 688, height: 1000 } });
  await page.setContent(html);
  const ground = (): Promise<string> => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  expect(await ground()).toBe('rgb(17, 23, 26)');
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  expect(await ground()).toBe('rgb(255, 255, 255)');
  expect(await page.evaluate(() => getComputedStyle(document.body).color)).toBe('rgb(22, 34, 43)');
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(688);
  await page.close();
});
