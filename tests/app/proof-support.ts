/** Two recordings of the invented bus of shell-support: a first, and another power cycle in which one counter stands still for a while. */
import type { Page } from 'playwright-core';
import { openPlace } from './open-place.ts';
import { ORIGIN_S } from './places-support.ts';
import { logLines, pick, untilRead, type Bench, type OpenedPage } from './shell-support.ts';

/** The counter of 0x120 stands still from here to there, seconds from the recording's start. */
export const STUCK_S = [40, 44] as const;
const SECOND_ORIGIN_S = ORIGIN_S + 86_400;

/** As `logLines`, a day later; byte 2 of 0x120 is 05 while it is stuck. */
export const secondLog = (): string =>
  logLines(SECOND_ORIGIN_S)
    .split('\n')
    .map((line) => {
      const atS = Number(/^\(([\d.]+)\)/.exec(line)?.[1]) - SECOND_ORIGIN_S;
      const stuck = atS > STUCK_S[0] && atS < STUCK_S[1];
      return stuck ? line.replace(/ 120#(....)../, ' 120#$105') : line;
    })
    .join('\n');

/** Both are open, the first is the one the map is made from, and Proof stands there. */
export async function openTwo(bench: Bench, options: Parameters<Bench['open']>[0] = {}): Promise<OpenedPage> {
  const opened = await bench.open(options);
  const { page } = opened;
  await pick(page, 'Choose files', 'monday.log', logLines(ORIGIN_S));
  await untilRead(page);
  await pick(page, 'Add files', 'tuesday.log', secondLog());
  await page.getByText('2 captures').first().waitFor({ timeout: 60_000 });
  await page
    .getByRole('button', { name: /^monday/ })
    .first()
    .click();
  await openPlace(page, 'Proof');
  return opened;
}

/** Verdicts against the second recording. */
export async function heldAgainst(page: Page): Promise<void> {
  await page
    .locator('.proof-choices')
    .getByRole('button', { name: /^tuesday/ })
    .click({ timeout: 60_000 });
  await page.locator('.proof-frame').first().waitFor({ timeout: 120_000 });
}
