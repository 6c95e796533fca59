/** The recording of shell-support with the presses marked and a meter's readings at hand, for tests of Payloads, Signals and Handover. */
import type { Page } from 'playwright-core';
import { createRandom } from '../../src/kit/random.ts';
import { openPlace } from './open-place.ts';
import { logLines, pick, PRESSES, untilRead, type Bench, type OpenedPage } from './shell-support.ts';

export const ORIGIN_S = 1_700_000_000;

/** On the recorder's own clock: epoch seconds of the presses. */
export const marksCsv = (): string =>
  ['start,end,action', ...PRESSES.map(([from, to]) => `${ORIGIN_S + from},${ORIGIN_S + to},pedal pressed`), ''].join(
    '\n',
  );

/** Byte 0 of 0x2B4 swings; a meter shows it in units of its own, with a little noise. */
export const TRUE_SCALE = 0.3;
export const TRUE_OFFSET = -2;
export const meterAt = (atS: number): number => TRUE_SCALE * Math.round(120 + 40 * Math.sin(atS / 9)) + TRUE_OFFSET;

export function referenceCsv(): string {
  const random = createRandom(7);
  const times = Array.from({ length: 50 }, (_, k) => 2 + 2 * k).filter((atS) => atS < 59 || atS > 66);
  const rows = times.map((atS) => `${ORIGIN_S + atS},${(meterAt(atS) + 0.1 * random.normal()).toFixed(2)}`);
  return ['time,level [mm]', ...rows, ''].join('\n');
}

export async function openMarked(bench: Bench, options: Parameters<Bench['open']>[0] = {}): Promise<OpenedPage> {
  const opened = await bench.open(options);
  const { page } = opened;
  await pick(page, 'Choose files', 'yard.log', logLines(ORIGIN_S));
  await untilRead(page);
  await openPlace(page, 'Marks');
  await pick(page, 'Import', 'marks.csv', marksCsv());
  await page.getByText('8 marks').first().waitFor();
  await openPlace(page, 'Payloads');
  await page
    .getByRole('listbox', { name: /^Fields/ })
    .getByRole('option')
    .first()
    .waitFor({ timeout: 60_000 });
  return opened;
}

export const holdIdentifier = (page: Page, name: string): Promise<void> =>
  page.getByRole('option', { name: new RegExp(`^${name} on`) }).click();

/** A field by what its label begins with: finders may draw its ends a bit wider or narrower. */
export const fieldOption = (page: Page, name: RegExp): ReturnType<Page['locator']> =>
  page
    .getByRole('listbox', { name: /^Fields/ })
    .getByRole('option', { name })
    .first();
