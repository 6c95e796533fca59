/** Marks in a real browser: by key, by pointer, by file, by run card; and the clock that is found from them. */
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { parseMarks } from '../../src/actions/marks.ts';
import { benchForTests, logLines, pick, PRESSES, untilRead } from './shell-support.ts';

const bench = benchForTests();

async function openRecording(hash = ''): Promise<Awaited<ReturnType<typeof bench.open>>> {
  const opened = await bench.open({ hash });
  await pick(opened.page, 'Choose files', 'yard.log', logLines());
  await untilRead(opened.page);
  await opened.page.keyboard.press('2');
  return opened;
}

/** Puts the cursor at a time of the ruler while all of the capture is in view. */
async function cursorTo(page: Page, atS: number): Promise<void> {
  const box = await page.locator('.ruler-time').boundingBox();
  if (!box) throw new Error('no ruler');
  await page.locator('.ruler-time').click({ position: { x: (atS / 110) * box.width, y: 11 } });
}

async function addAction(page: Page, name: string): Promise<void> {
  await page.getByLabel('Name of the new action').fill(name);
  await page.keyboard.press('Enter');
  await page.locator('h1').click();
}

async function exported(page: Page): Promise<ReturnType<typeof parseMarks>> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Export' }).first().click(),
  ]);
  return parseMarks(readFileSync(await download.path(), 'utf8'), 'marks.csv');
}

test('M marks at the cursor, M again ends it; the export reads back to the same marks', async () => {
  const { page, context, errors } = await openRecording();
  await addAction(page, 'pedal pressed');
  for (const [from, to] of PRESSES.slice(0, 3)) {
    await cursorTo(page, from);
    await page.keyboard.press('m');
    await cursorTo(page, to);
    await page.keyboard.press('m');
  }
  expect(await page.locator('.mark').count()).toBe(3);
  const file = await exported(page);
  if (!file.ok) throw new Error('the export does not parse');
  expect(file.value.timeBase).toBe('capture');
  file.value.marks.forEach((mark, index) => {
    const [from, to] = PRESSES[index] as readonly [number, number];
    expect(mark.action).toBe('pedal pressed');
    expect(Math.abs(mark.startS - from)).toBeLessThan(0.3);
    expect(Math.abs((mark.endS ?? 0) - to)).toBeLessThan(0.3);
  });
  expect(errors).toEqual([]);
  await context.close();
});

test('each action has a key of its own; Ctrl Z takes the last mark back', async () => {
  const { page, context } = await openRecording();
  await addAction(page, 'pedal pressed');
  await addAction(page, 'horn sounded');
  await cursorTo(page, 40);
  await page.keyboard.press('w');
  expect(await page.locator('.mark').getAttribute('aria-label')).toContain('horn sounded');
  await page.keyboard.press('Control+z');
  expect(await page.locator('.mark').count()).toBe(0);
  await context.close();
});

test('a mark is dragged by its body and by its ends, and a drag is one step to undo', async () => {
  const { page, context } = await openRecording();
  await addAction(page, 'pedal pressed');
  await cursorTo(page, 30);
  await page.keyboard.press('m');
  await cursorTo(page, 50);
  await page.keyboard.press('m');
  const mark = page.locator('.mark');
  type Box = NonNullable<Awaited<ReturnType<typeof mark.boundingBox>>>;
  // The page draws a mark in the frame after the key or the mouse: what is measured is waited for.
  const off = (of: (box: Box) => number): Promise<number> =>
    mark.boundingBox().then((box) => Math.abs(box ? of(box) : Infinity));
  await expect.poll(() => mark.boundingBox().then((box) => box?.width ?? 0)).toBeGreaterThan(20);
  const before = (await mark.boundingBox()) as Box;
  const middle = { x: before.x + before.width / 2, y: before.y + before.height / 2 };
  await page.mouse.move(middle.x, middle.y);
  await page.mouse.down();
  await page.mouse.move(middle.x + 40, middle.y, { steps: 8 });
  await page.mouse.up();
  await expect.poll(() => off(({ x }) => x - before.x - 40)).toBeLessThan(3);
  expect(await off(({ width }) => width - before.width)).toBeLessThan(3);
  const edge = (await page.locator('.mark .edge.endS').boundingBox()) as Box;
  await page.mouse.move(edge.x + edge.width / 2, edge.y + edge.height / 2);
  await page.mouse.down();
  await page.mouse.move(edge.x + edge.width / 2 + 30, edge.y + 5, { steps: 6 });
  await page.mouse.up();
  await expect.poll(() => off(({ width }) => width - before.width - 30)).toBeLessThan(3);
  await page.keyboard.press('Control+z');
  await page.keyboard.press('Control+z');
  await expect.poll(() => off(({ x }) => x - before.x)).toBeLessThan(1);
  await context.close();
});

test('by keyboard alone: choose a mark, move it, set its end, give it a value, rename the action, delete', async () => {
  const { page, context } = await openRecording();
  await addAction(page, 'pedal pressed');
  await cursorTo(page, 30);
  await page.keyboard.press('m');
  await page.getByRole('grid').focus();
  await page.keyboard.press('ArrowRight');
  const label = (): Promise<string | null> => page.locator('.mark').getAttribute('aria-label');
  const before = await label();
  await page.keyboard.press('Shift+ArrowRight');
  expect(await label()).not.toBe(before);
  await cursorTo(page, 36);
  await page.getByRole('grid').focus();
  await page.keyboard.press(']');
  expect(await label()).toContain('to 0:36');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Control+a');
  await page.keyboard.type('0:29.5');
  await page.keyboard.press('Enter');
  expect(await label()).toContain('0:29.50');
  await page.getByLabel('Value').fill('half');
  await page.locator('h1').click();
  await page.keyboard.press('F2');
  await page.keyboard.press('Control+a');
  await page.keyboard.type('foot down');
  await page.keyboard.press('Enter');
  expect(await label()).toContain('foot down half');
  await page.getByRole('grid').focus();
  await page.keyboard.press('Delete');
  expect(await page.locator('.mark').count()).toBe(0);
  await context.close();
});

test('marks from a phone whose clock is ahead: the offset is found, shown as a curve, and can be set by hand', async () => {
  const { page, context } = await openRecording();
  const ahead = 3.4;
  // The capture's first frame is a few milliseconds after the second that the stamps start from.
  const rows = PRESSES.map(
    ([from, to]) =>
      `${(1_700_000_000 + from + ahead).toFixed(2)},${(1_700_000_000 + to + ahead).toFixed(2)},pedal pressed`,
  );
  await pick(page, 'Import marks', 'phone.csv', ['start,end,action', ...rows].join('\n'));
  await page.locator('.offset-figure').waitFor({ timeout: 120_000 });
  const found = async (): Promise<number> =>
    Number(((await page.locator('.offset-figure').textContent()) ?? '').replace('−', '-').replace(' s', ''));
  expect(Math.abs((await found()) + ahead)).toBeLessThan(0.5);
  expect(await page.getByRole('slider', { name: /^Agreement of marks and fields/ }).count()).toBe(1);
  expect(await page.locator('.witness-row').textContent()).toContain('0x120');
  await page.getByLabel('Offset by hand, seconds').fill('-3');
  await page.keyboard.press('Enter');
  await expect.poll(found, { timeout: 120_000 }).toBe(-3);
  await page.getByRole('button', { name: 'Find it from the data' }).click();
  await expect.poll(async () => Math.abs((await found()) + ahead), { timeout: 120_000 }).toBeLessThan(0.5);
  await context.close();
});

test('a mark file that cannot be understood is refused with its line, and nothing changes', async () => {
  const { page, context } = await openRecording();
  await pick(page, 'Import marks', 'broken.csv', 'start,end,action\n1.5,,pedal\nsoon,,pedal\n');
  await page.locator('.notice p').waitFor();
  expect(await page.locator('.notice').textContent()).toContain(
    'broken.csv, line 3: the start is not a number of seconds',
  );
  expect(await page.locator('.track-name').count()).toBe(0);
  await context.close();
});

test('run card on a phone with no capture: one big button writes epoch marks, a wrong one is taken back, all is kept', async () => {
  const { page, context, errors } = await bench.open({ width: 390, height: 844, hash: '#marks' });
  await page.getByRole('button', { name: 'Open the run card' }).first().click();
  // A plan of one step, twice.
  for (let rest = await page.getByRole('button', { name: /Take out step/ }).count(); rest > 1; rest--)
    await page.getByRole('button', { name: 'Take out step 1' }).click();
  await page.getByLabel('Step 1: what to say').fill('Press the horn');
  await page.getByLabel('Step 1: action of its marks').fill('horn sounded');
  await page.getByLabel('Step 1: seconds to hold').fill('1');
  await page.getByLabel('Step 1: times').fill('2');
  await page.getByRole('button', { name: 'Start the run' }).click();
  const big = page.locator('.big-button');
  const box = await big.boundingBox();
  expect(box?.height).toBeGreaterThanOrEqual(52);
  const turn = async (): Promise<void> => {
    await page.getByText('Starting now').waitFor({ timeout: 20_000 });
    await big.click();
    await page.getByText('Letting go now').waitFor();
    await page.waitForTimeout(600);
    await big.click();
  };
  await turn();
  await page.getByRole('button', { name: 'That went wrong' }).click();
  await turn();
  await turn();
  await page.getByText('2 marks written').waitFor();
  await page.getByRole('button', { name: 'Close the card' }).click();
  await page.waitForTimeout(300);
  await page.reload();
  await page.locator('.mark').first().waitFor();
  const file = await exported(page);
  if (!file.ok) throw new Error('the export does not parse');
  expect(file.value.timeBase).toBe('epoch');
  expect(file.value.marks).toHaveLength(2);
  for (const { startS, endS, action } of file.value.marks) {
    expect(action).toBe('horn sounded');
    expect(Math.abs(startS - Date.now() / 1000)).toBeLessThan(120);
    expect((endS ?? 0) - startS).toBeGreaterThan(0.3);
  }
  expect(errors).toEqual([]);
  await context.close();
});
