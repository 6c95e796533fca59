/**
 * Makes the README's picture from the built page and the demo dossier: `npx tsx tests/app/make-pictures.mts [FILE]`
 * (docs/pictures/payloads.png where no file is given). Not a test: run it again when the page has changed.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';
import type { Page } from 'playwright-core';
import { launchBrowser } from '../support/browser.ts';
import { serveBuild } from '../support/site.ts';
import { openPlace } from './open-place.ts';

const SIZE = { width: 1440, height: 900 };
const ACTION = 'accelerator pressed';
/** A press in the middle of the drive, with others on both sides of it. */
const PRESS = 8;
const AROUND_S = 45;
const LONGEST_MS = 60_000;
const SETTLED_MS = 4_000;

async function openDemo(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo dossier' }).click();
  await page.getByText('drive-1.log').first().waitFor({ timeout: LONGEST_MS });
  await openPlace(page, 'Payloads');
  await page.getByLabel('Action').selectOption(ACTION, { timeout: LONGEST_MS });
  await page.locator('.payloads-rows tbody tr').first().waitFor({ timeout: LONGEST_MS });
}

const secondsOf = (clock: string): number => clock.split(':').reduce((total, part) => total * 60 + Number(part), 0);

/** The middle of the press, from the words that its mark carries: "accelerator pressed, 1:02.10 to 1:07.43". */
async function middleOfPress(page: Page): Promise<number> {
  await openPlace(page, 'Marks');
  const mark = page.locator(`.mark[aria-label^="${ACTION}"]`).nth(PRESS);
  const words = (await mark.getAttribute('aria-label', { timeout: LONGEST_MS })) ?? '';
  const [from, to] = [...words.matchAll(/[\d:]+\.\d+/g)].map(([clock]) => secondsOf(clock));
  if (from === undefined || to === undefined) throw new Error(`no times in "${words}"`);
  return (from + to) / 2;
}

async function look(page: Page, atS: number): Promise<void> {
  const address = new URL(page.url());
  const capture = new URLSearchParams(address.hash.split('?')[1]).get('capture') ?? '';
  const part = { capture, from: `${atS - AROUND_S}`, to: `${atS + AROUND_S}`, at: `${atS}`, id: 'can0/0x0D2' };
  await page.evaluate((hash) => (location.hash = hash), `payloads?${String(new URLSearchParams(part))}`);
  await page.locator('.payloads-id.selected').filter({ hasText: '0x0D2' }).waitFor({ timeout: LONGEST_MS });
  const fields = page.getByRole('listbox', { name: /^Fields/ });
  await fields
    .getByRole('option', { name: /number/ })
    .first()
    .click({ timeout: LONGEST_MS });
  await page.waitForTimeout(SETTLED_MS);
}

/** The pixels of a PNG, red, green, blue and alpha, by the browser's own decoder. */
async function pixelsOf(page: Page, png: Buffer): Promise<Buffer> {
  const text = await page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
    const context = new OffscreenCanvas(image.width, image.height).getContext(
      '2d',
    ) as OffscreenCanvasRenderingContext2D;
    context.drawImage(image, 0, 0);
    const { data } = context.getImageData(0, 0, image.width, image.height);
    let binary = '';
    for (let at = 0; at < data.length; at += 32_768) binary += String.fromCharCode(...data.subarray(at, at + 32_768));
    return btoa(binary);
  }, png.toString('base64'));
  return Buffer.from(text, 'base64');
}

const rgbAt = (pixels: Buffer, at: number): number => pixels.readUIntBE(at, 3);
const COLOURS = 256;

/** The most frequent colours; every other one goes to the nearest of them. */
function paletteOf(pixels: Buffer): { readonly colours: readonly number[]; readonly placeOf: Map<number, number> } {
  const counts = new Map<number, number>();
  for (let at = 0; at < pixels.length; at += 4) {
    const rgb = rgbAt(pixels, at);
    counts.set(rgb, (counts.get(rgb) ?? 0) + 1);
  }
  const colours = [...counts]
    .sort((a, b) => b[1] - a[1])
    .slice(0, COLOURS)
    .map(([rgb]) => rgb);
  const distance = (a: number, b: number): number =>
    [16, 8, 0].reduce((sum, shift) => sum + (((a >> shift) & 255) - ((b >> shift) & 255)) ** 2, 0);
  const nearest = (rgb: number): number =>
    colours.reduce(
      (best, colour, place) => (distance(colour, rgb) < distance(colours[best] as number, rgb) ? place : best),
      0,
    );
  return { colours, placeOf: new Map([...counts.keys()].map((rgb) => [rgb, nearest(rgb)])) };
}

/** One chunk of a PNG: length, type, data, CRC (W3C PNG specification, section 5.3). */
function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const ends = Buffer.alloc(8);
  ends.writeUInt32BE(data.length, 0);
  ends.writeUInt32BE(crc32(body), 4);
  return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
}

/** The same picture with 256 colours: a third of the size, and flat ink on flat ground loses nothing by it. */
async function withPalette(page: Page, png: Buffer): Promise<Buffer> {
  const pixels = await pixelsOf(page, png);
  const { colours, placeOf } = paletteOf(pixels);
  const header = Buffer.alloc(13);
  header.writeUInt32BE(SIZE.width, 0);
  header.writeUInt32BE(SIZE.height, 4);
  header.set([8, 3, 0, 0, 0], 8);
  const lines = Buffer.alloc((SIZE.width + 1) * SIZE.height);
  for (let pixel = 0; pixel < SIZE.width * SIZE.height; pixel++)
    lines[pixel + Math.floor(pixel / SIZE.width) + 1] = placeOf.get(rgbAt(pixels, pixel * 4)) ?? 0;
  return Buffer.concat([
    Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'),
    chunk('IHDR', header),
    chunk('PLTE', Buffer.from(colours.flatMap((rgb) => [(rgb >> 16) & 255, (rgb >> 8) & 255, rgb & 255]))),
    chunk('IDAT', deflateSync(lines, { level: 9 })),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

const file = process.argv[2] ?? 'docs/pictures/payloads.png';
const site = await serveBuild();
const browser = await launchBrowser();
try {
  const page = await browser.newPage({ viewport: SIZE, colorScheme: 'light' });
  await page.goto(site.address);
  await openDemo(page);
  await look(page, await middleOfPress(page));
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, await withPalette(page, await page.screenshot()));
} finally {
  await browser.close();
  await site.close();
}
