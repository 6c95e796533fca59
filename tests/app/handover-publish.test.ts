/** The publishing copy in a real browser: an invented number is found, shown to nobody unasked, kept nowhere, and in no file of the copy. */
import { readFileSync } from 'node:fs';
import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { violations } from './axe-support.ts';
import { openPlace } from './open-place.ts';
import { ORIGIN_S } from './places-support.ts';
import { benchForTests, logLines, pick, untilRead } from './shell-support.ts';

const bench = benchForTests();

/** Seventeen characters of the alphabet of ISO 3779, invented. */
const NUMBER = 'XZ9PW7K3LTB604418';
const hexOf = (text: string): string => Buffer.from(text, 'latin1').toString('hex').toUpperCase();

/** The recording with the number in three pages of 0x4F0, a page every tenth of a second. */
function numberedLog(): string {
  const pages = [0, 1, 2].map((page) => {
    const text = NUMBER.slice(page * 7, page * 7 + 7);
    return `0${page}${hexOf(text)}`.padEnd(16, '0');
  });
  const told = Array.from({ length: 1000 }, (_, n) => {
    const atS = ORIGIN_S + 1 + n / 10;
    return `(${atS.toFixed(6)}) can1 4F0#${pages[n % 3] ?? ''}`;
  });
  const rows = [...logLines(ORIGIN_S).trim().split('\n'), ...told];
  const timeOf = (row: string): number => Number(/^\(([\d.]+)\)/.exec(row)?.[1]);
  return `${rows.toSorted((a, b) => timeOf(a) - timeOf(b)).join('\n')}\n`;
}

test('finds a number, keeps it to itself, and writes a copy without it', async () => {
  const { page, errors } = await bench.open();
  await pick(page, 'Choose files', 'numbered.log', numberedLog());
  await untilRead(page);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^Publishing copy/ }).click({ timeout: 60_000 });
  const found = page.getByRole('list', { name: 'Numbers found' });
  await found.waitFor({ timeout: 60_000 });
  const line = found.getByRole('listitem').filter({ hasText: 'vehicle number' });
  expect(await line.innerText()).toContain('0x4F0');
  expect(await page.locator('body').innerText()).not.toContain(NUMBER);
  expect(await violations(page)).toEqual([]);
  await line.getByRole('button', { name: /^Show/ }).click();
  expect(await line.innerText()).toContain(NUMBER);
  await line.getByRole('button', { name: /^Hide/ }).click();

  const [download] = await Promise.all([page.waitForEvent('download', { timeout: 60_000 }), page.keyboard.press('s')]);
  expect(download.suggestedFilename()).toBe('donor-part.publishing-copy.zip');
  const files = unzipSync(readFileSync(await download.path()));
  const text = (name: string): string => new TextDecoder().decode(files[name]);
  expect(Object.keys(files).sort()).toEqual(
    ['blanked.json', 'blanked.md', 'capture.log', 'report.html', 'report.md', 'signal-map.json'].sort(),
  );
  const log = text('capture.log');
  expect(log.split('\n').length).toBe(numberedLog().split('\n').length);
  for (const piece of [NUMBER.slice(0, 7), NUMBER.slice(7, 14), NUMBER.slice(14)])
    expect(log).not.toContain(hexOf(piece));
  for (const name of Object.keys(files)) expect(text(name)).not.toContain(NUMBER);
  expect(text('blanked.md')).toContain('4F0');

  // Stored by the browser: the dossier and findings, and no number among them. The recording itself lies there as it is.
  const stored = await page.evaluate(async () => {
    const all: string[] = [JSON.stringify({ ...localStorage }), JSON.stringify({ ...sessionStorage })];
    for (const { name } of await indexedDB.databases()) {
      const db = await new Promise<IDBDatabase>((resolve, reject) => {
        const asked = indexedDB.open(name ?? '');
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => reject(new Error('not opened'));
      });
      for (const store of db.objectStoreNames) {
        const rows = await new Promise<unknown[]>((resolve) => {
          const asked = db.transaction(store).objectStore(store).getAll();
          asked.onsuccess = () => resolve(asked.result);
        });
        all.push(JSON.stringify(rows));
      }
    }
    return all.join('\n');
  });
  expect(stored.length).toBeGreaterThan(1000);
  expect(stored).not.toContain(NUMBER);
  expect(errors).toEqual([]);
});

test('a number that the person knows is looked for, and one that could be chance is refused', async () => {
  const { page, errors } = await bench.open();
  await pick(page, 'Choose files', 'numbered.log', numberedLog());
  await untilRead(page);
  await openPlace(page, 'Handover');
  await page.getByRole('button', { name: /^Publishing copy/ }).click({ timeout: 60_000 });
  await page.getByRole('list', { name: 'Numbers found' }).waitFor({ timeout: 60_000 });
  await page.keyboard.press('n');
  await page.keyboard.type('77');
  await page.keyboard.press('Enter');
  await page.getByText(/Too short or too plain/).waitFor();
  await page.keyboard.press('Control+a');
  await page.keyboard.type('ZZ90817263Q');
  await page.keyboard.press('Enter');
  await page.getByText('a number of yours').waitFor({ timeout: 60_000 });
  expect(await page.locator('body').innerText()).not.toContain('ZZ90817263Q');
  expect(errors).toEqual([]);
});
