/**
 * Proof in a real browser: a map held against another recording, moments jumped to, taken into the dossier and taken back; what is still weak and
 * its run card; on the demo dossier and with a donor that can only be keyed on; the case of nothing to hold against.
 */
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import type { SignalMap } from '../../src/map/schema.ts';
import { tabTo } from './by-keyboard.ts';
import { openPlace } from './open-place.ts';
import { heldAgainst, openTwo, STUCK_S } from './proof-support.ts';
import { openMarked } from './places-support.ts';
import { benchForTests, pick } from './shell-support.ts';

const bench = benchForTests();
const PATIENCE_MS = 200_000;

const panel = (page: Page): Promise<string> => page.locator('.panel').innerText();
/** "0:40.02" as the ruler has it, in seconds. */
const cursorOf = async (page: Page): Promise<number> => {
  const [minutes = '', seconds = ''] = (await page.locator('.ruler-words .figure').innerText()).split(':');
  return Number(minutes) * 60 + Number(seconds);
};
const labelOf = (page: Page, name: RegExp): ReturnType<Page['locator']> =>
  page.locator('.proof-label').filter({ hasText: name });

test('a counter that stands still fails at its moments, one key away; the map’s own capture is not offered and says why', async () => {
  const { page, errors } = await openTwo(bench);
  const own = page.locator('.proof-choices li', { hasText: 'monday' });
  expect(await own.innerText()).toContain('the map is made from it');
  expect(await own.getByRole('button').count()).toBe(0);
  await heldAgainst(page);
  const failing = page.getByRole('group', { name: 'something fails' }).locator('.proof-frame');
  expect(await failing.count()).toBe(1);
  expect(await failing.innerText()).toContain('counter fails');
  await failing.getByRole('button').first().click();
  // The words on a frame count all of it, whatever the filter lists.
  await page.keyboard.press('f');
  expect(await page.locator('.proof-item').count()).toBe(1);
  expect(await panel(page)).toMatch(/[1-9]\d* hold, 1 fail,/);
  await page.keyboard.press('f');
  await page.keyboard.press('f');
  await labelOf(page, /^counter/).click();
  expect(await panel(page)).toContain('Where it failed');
  await page.keyboard.press('j');
  const atS = await cursorOf(page);
  expect(atS).toBeGreaterThan(STUCK_S[0] - 0.1);
  expect(atS).toBeLessThan(STUCK_S[1] + 0.1);
  await page.locator('.proof-trace canvas').first().waitFor();
  await page.keyboard.press('k');
  const before = await cursorOf(page);
  expect(before).not.toBe(atS);
  await page.locator('.proof-moments button').first().click();
  expect(await page.locator('.proof-moments button[aria-pressed="true"]').count()).toBe(1);
  // The open capture is as it was: another place shows the first recording, with a cursor of its own.
  await openPlace(page, 'Captures');
  expect(await page.locator('.ruler-words').innerText()).toContain('click to set a cursor');
  expect(errors).toEqual([]);
});

test('what is proven is taken into the dossier, stands in the map, and undo takes it back', async () => {
  const { page, errors } = await openTwo(bench);
  await heldAgainst(page);
  expect(await panel(page)).toMatch(/\d+ signals? proven/);
  await page.keyboard.press('t');
  await expect.poll(() => panel(page)).toContain('Stands in the dossier');
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 60_000 });
  await page.keyboard.press('v');
  const told = /"kind": "proof",\s+"capture": "c2"/;
  await expect.poll(() => page.locator('.handover-shown').innerText()).toMatch(told);
  await openPlace(page, 'Proof');
  await page.locator('.proof-frame').first().waitFor();
  await page.keyboard.press('Control+z');
  await expect.poll(() => panel(page)).toContain('Take it into the dossier');
  await openPlace(page, 'Handover');
  await page.locator('.handover-shown').waitFor();
  await expect.poll(() => page.locator('.handover-shown').innerText()).not.toMatch(told);
  expect(errors).toEqual([]);
});

test('by keyboard alone: chosen, walked through, filtered, taken, the run card made; every key stands in the list', async () => {
  const { page, errors } = await openTwo(bench);
  await page.keyboard.press('h');
  await page.getByRole('dialog', { name: 'Hold the map against' }).waitFor();
  await tabTo(page, /^\s*tuesday/);
  await page.keyboard.press('Enter');
  await page.locator('.proof-frame').first().waitFor({ timeout: 120_000 });
  await page.keyboard.press('l');
  await page.keyboard.press('Enter');
  for (let press = 0; press < 4; press++) await page.keyboard.press('ArrowDown');
  const held = page.locator('.proof-label[aria-pressed="true"]');
  expect(await held.count()).toBe(1);
  await page.keyboard.press('Escape');
  expect(await held.count()).toBe(0);
  await page.keyboard.press('f');
  expect(await page.locator('.proof-frame').count()).toBe(1);
  await page.keyboard.press('f');
  await page.keyboard.press('f');
  expect(await page.locator('.proof-frame').count()).toBeGreaterThan(1);
  await page.keyboard.press('?');
  const keys = await page.getByRole('dialog', { name: 'Keys' }).innerText();
  for (const says of ['hold the map against', 'the next moment', 'take what is proven', 'the next question'])
    expect(keys).toContain(says);
  await page.keyboard.press('Escape');
  await page.keyboard.press('w');
  await page.locator('.proof-need').first().waitFor({ timeout: 120_000 });
  await page.keyboard.press('l');
  await page.keyboard.press('ArrowDown');
  expect(await page.locator('.proof-need[aria-pressed="true"]').count()).toBe(1);
  await page.keyboard.press('c');
  await page.getByText('Start the run').waitFor();
  await page.keyboard.press('Control+z');
  await openPlace(page, 'Proof');
  expect(page.url()).toContain('against=c2');
  expect(errors).toEqual([]);
});

test('a reload comes back to the same verdicts at the same instant', async () => {
  const { page, errors } = await openTwo(bench);
  await heldAgainst(page);
  await page.getByRole('group', { name: 'something fails' }).getByRole('button').first().click();
  await page.keyboard.press('j');
  const atS = await cursorOf(page);
  await expect.poll(() => page.url()).toContain(`at=${Math.floor(atS)}.`);
  await page.reload();
  await page.locator('.proof-frame').first().waitFor({ timeout: 60_000 });
  await expect.poll(() => cursorOf(page)).toBe(atS);
  expect(errors).toEqual([]);
});

test('with one recording nothing is offered; what it lacks is told, with a donor that can only be keyed on as well', async () => {
  const { page, errors } = await openMarked(bench);
  await openPlace(page, 'Proof');
  await page.getByText('There is none yet').waitFor();
  expect(await page.locator('.proof-choices button').count()).toBe(0);
  await page.keyboard.press('w');
  await page.locator('.proof-need').first().waitFor({ timeout: 120_000 });
  const cards = (): Promise<string> => page.locator('.proof-next').innerText();
  expect(await page.locator('.proof-needs').innerText()).toContain('the shut-down');
  expect(await cards()).toContain('Make it the run card');
  expect(await cards()).toMatch(/road/i);
  await page.getByLabel('The donor can').selectOption('key on only');
  await expect.poll(cards).not.toMatch(/road/i);
  await page.locator('.proof-next').waitFor();
  const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('s')]);
  expect(saved.suggestedFilename()).toMatch(/\.run-card\.json$/);
  await page.keyboard.press('Control+z');
  await expect.poll(() => page.getByLabel('The donor can').inputValue()).toBe('drive');
  expect(errors).toEqual([]);
});

/** The page's own map as another person might have it: the slow value named and scaled, the counter of 0x120 said to be shorter. */
async function anothersMap(page: Page): Promise<string> {
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 120_000 });
  const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('s')]);
  const map = JSON.parse(readFileSync(await saved.path(), 'utf8')) as SignalMap;
  for (const frame of map.frames) {
    for (const one of frame.counters) if (frame.id === '0x120') one.max = 7;
    const level = frame.signals.find(({ lsb }) => frame.id === '0x2B4' && lsb.byte === 0);
    if (level) Object.assign(level, { name: 'tank_level', unit: 'mm', scale: 0.3, standing: 'supported' });
  }
  return JSON.stringify({ ...map, captures: [{ id: 'c1', title: 'theirs', files: [] }] });
}

test('another person’s map: what they understood is taken, what contradicts is chosen side by side, undo takes it back', async () => {
  const { page, errors } = await openTwo(bench);
  const theirs = await anothersMap(page);
  await openPlace(page, 'Proof');
  await page.getByRole('button', { name: 'Do we agree?' }).click();
  await pick(page, 'Open their map', 'theirs.signal-map.json', theirs);
  const conflict = page.locator('.proof-conflicts > li');
  await conflict.first().waitFor({ timeout: 60_000 });
  expect(await conflict.count()).toBe(1);
  expect(await conflict.innerText()).toMatch(/max\s+15\s+7/);
  expect(await conflict.getByRole('button', { pressed: true }).innerText()).toBe('both, disputed');
  expect(await panel(page)).toContain('1 conflict left open');
  await page.keyboard.press('l');
  await page.keyboard.press('m');
  expect(await panel(page)).toContain('No conflict is left open');
  await page.keyboard.press('t');
  await page.keyboard.press('u');
  await page.getByText(/Taken: 1 signal, 0 frame names, 1 rule/).waitFor();
  await openPlace(page, 'Signals');
  await expect.poll(() => page.locator('.signals-label').innerText()).toContain('tank_level');
  await page.keyboard.press('Control+z');
  await page.getByText('Nothing is named yet').waitFor();
  await openPlace(page, 'Proof');
  const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('s')]);
  const merged = JSON.parse(readFileSync(await saved.path(), 'utf8')) as SignalMap;
  const frame = merged.frames.find(({ id }) => id === '0x120');
  expect(frame?.counters[0]?.max).toBe(7);
  expect(JSON.stringify(frame?.['setAside'])).toContain('"max":15');
  expect(errors).toEqual([]);
});

test('a map from a file is held as well: not against what it was made from, and what is proven is saved as a file', async () => {
  const { page, errors } = await openTwo(bench);
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 120_000 });
  const [own] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('s')]);
  const text = readFileSync(await own.path(), 'utf8');
  await openPlace(page, 'Proof');
  await pick(page, 'Open a map file', 'ours.signal-map.json', text);
  await page.getByText('ours.signal-map.json').first().waitFor();
  const made = page.locator('.proof-choices li', { hasText: 'monday' });
  expect(await made.getByRole('button').count()).toBe(0);
  await heldAgainst(page);
  const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('t')]);
  expect(saved.suggestedFilename()).toBe('ours-proven.signal-map.json');
  const proved = JSON.parse(readFileSync(await saved.path(), 'utf8')) as SignalMap;
  expect(proved.captures.map(({ title }) => title)).toContain('tuesday');
  expect(proved.frames.flatMap(({ signals }) => signals).some(({ standing }) => standing === 'proven')).toBe(true);
  expect(errors).toEqual([]);
});

test('the demo: the second drive proves most of the map, a donor that can only be keyed on tests less and says so', async () => {
  const { page, errors } = await bench.open();
  await page.getByRole('button', { name: 'Open the demo dossier' }).click();
  await page.getByText('drive-1.log').first().waitFor({ timeout: PATIENCE_MS });
  await openPlace(page, 'Proof');
  const choice = (name: RegExp): ReturnType<Page['locator']> =>
    page.locator('.proof-choices').getByRole('button', { name });
  await choice(/^Tuesday/).click({ timeout: PATIENCE_MS });
  await page.locator('.proof-frame').first().waitFor({ timeout: PATIENCE_MS });
  const tally = async (): Promise<number[]> =>
    (await page.locator('.proof-tally .figure').allInnerTexts()).map((text) => Number(text.replaceAll(',', '')));
  const [holds = 0, fails = 0, untested = 0] = await tally();
  expect(holds / (holds + fails)).toBeGreaterThan(0.95);
  expect(await panel(page)).toMatch(/“brake pressed” \d+ marks\s+\d+\s+holds/);
  await page.keyboard.press('h');
  await page
    .getByRole('dialog')
    .getByRole('button', { name: /^Fuse fired/ })
    .click();
  await page.getByText(/held against/).waitFor({ timeout: PATIENCE_MS });
  await expect.poll(async () => (await tally())[2] ?? 0, { timeout: PATIENCE_MS }).toBeGreaterThan(untested);
  expect((await tally())[0]).toBeGreaterThan(0);
  expect(errors).toEqual([]);
}, 600_000);
