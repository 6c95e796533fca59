/**
 * The main job on the demo's vehicle, from a raw capture to the saved map: once with the mouse on the bare log, marking by
 * hand; once by keyboard alone on the demo dossier. The saved file goes back through the schema, and what it decodes is
 * compared with the true map, frame by frame.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { parseMarks } from '../../src/actions/marks.ts';
import { demoFiles, PHONE_AHEAD_S } from '../../src/demo/demo-files.ts';
import { rawColumn } from '../../src/frames/bits.ts';
import { readCapture } from '../../src/frames/read-capture.ts';
import { memorySource } from '../../src/frames/source.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { formatId } from '../../src/kit/units.ts';
import { parseMap } from '../../src/map/parse.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { tabTo } from './by-keyboard.ts';
import { openPlace } from './open-place.ts';
import { benchForTests, untilRead } from './shell-support.ts';

const ACTION = 'accelerator pressed';
const PRESSES_MARKED = 10;
/** Analyses of a full drive on a busy two-core machine. */
const PATIENCE_MS = 200_000;

const bench = benchForTests();
const folder = mkdtempSync(join(tmpdir(), 'loomscribe-main-job-'));
const logPath = join(folder, 'drive-1.log');
let table: FrameTable;
let truth: SignalMap;
/** On the capture's clock, as the operator saw them: with a person's reaction delay. */
let presses: (readonly [number, number])[];

const textOf = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

function parsedMap(text: string): SignalMap {
  const parsed = parseMap(text, 'map');
  if (!parsed.ok) throw new Error(parsed.problems[0].message);
  return parsed.value;
}

beforeAll(async () => {
  const files = await demoFiles();
  const file = (name: string): Uint8Array => {
    const found = files.find((candidate) => candidate.name === name);
    if (!found) throw new Error(`the demo has no ${name}`);
    return found.bytes;
  };
  writeFileSync(logPath, file('drive-1.log'));
  const read = await readCapture([{ source: memorySource('drive-1.log', file('drive-1.log')) }], {}, {});
  if (!read.ok) throw new Error(read.problems[0].message);
  table = read.value;
  truth = parsedMap(textOf(file('true-map.json')));
  const marks = parseMarks(textOf(file('marks-1.csv')), 'marks-1.csv');
  if (!marks.ok) throw new Error(marks.problems[0].message);
  const origin = Number(table.origin.text) + PHONE_AHEAD_S[0];
  presses = marks.value.marks
    .filter(({ action }) => action === ACTION)
    .map(({ startS, endS }) => [startS - origin, (endS as number) - origin] as const)
    .slice(0, PRESSES_MARKED);
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

function frameOf(map: SignalMap, { bus, id, extended }: Stream): MapFrame | undefined {
  return map.frames.find((frame) => frame.bus === bus && frame.id === formatId(id) && frame.extended === extended);
}

/** The named signal of the saved map, and the true one whose bits begin at the same place. */
function pairOf(saved: SignalMap, name: string): { stream: Stream; signal: MapSignal; trueSignal: MapSignal } {
  for (const stream of table.streams) {
    const signal = frameOf(saved, stream)?.signals.find((candidate) => candidate.name === name);
    if (!signal) continue;
    const { byte, bit } = signal.lsb;
    const trueSignal = frameOf(truth, stream)?.signals.find(({ lsb }) => lsb.byte === byte && lsb.bit === bit);
    if (!trueSignal) throw new Error(`nothing true begins where ${name} was placed`);
    return { stream, signal, trueSignal };
  }
  throw new Error(`the saved map has no ${name}`);
}

/** Share of frames in which the saved signal reads what the true one reads, "no data" at start-up left out. */
function agreement(saved: SignalMap, name: string): number {
  const { stream, signal, trueSignal } = pairOf(saved, name);
  const [found, meant] = [rawColumn(stream, signal), rawColumn(stream, trueSignal)];
  const isNoData = (raw: number): boolean =>
    trueSignal.invalid.some(({ from, to }) => raw >= Number(from) && raw <= Number(to));
  let [same, all] = [0, 0];
  found.forEach((raw, row) => {
    if (isNoData(meant[row] as number)) return;
    all++;
    if (raw === meant[row]) same++;
  });
  expect(all).toBeGreaterThan(1000);
  return same / all;
}

async function cursorTo(page: Page, atS: number): Promise<void> {
  const box = await page.locator('.ruler-time').boundingBox();
  if (!box) throw new Error('no ruler');
  await page.locator('.ruler-time').click({ position: { x: (atS / (table.endUs / 1e6)) * box.width, y: 11 } });
}

async function savedMap(page: Page, act: () => Promise<void>): Promise<SignalMap> {
  const [download] = await Promise.all([page.waitForEvent('download', { timeout: PATIENCE_MS }), act()]);
  return parsedMap(readFileSync(await download.path(), 'utf8'));
}

const place = (page: Page, name: string) =>
  page
    .getByRole('navigation')
    .getByRole('link', { name })
    .or(page.getByRole('navigation').getByRole('button', { name }));

test('with the mouse: open a log, mark the pedal, see who answers, name it, save the map', async () => {
  const { page, errors } = await bench.open();
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: 'Choose files' }).first().click(),
  ]);
  await chooser.setFiles(logPath);
  await untilRead(page);

  await place(page, 'Marks').first().click();
  await page.getByLabel('Name of the new action').fill(ACTION);
  await page.getByRole('button', { name: 'Add', exact: true }).click();
  for (const [from, to] of presses) {
    await cursorTo(page, from);
    await page
      .getByRole('button', { name: /Mark here|End it here|End here/ })
      .first()
      .click();
    await cursorTo(page, to);
    await page
      .getByRole('button', { name: /Mark here|End it here|End here/ })
      .first()
      .click();
  }
  await expect.poll(() => page.locator('.mark').count()).toBe(PRESSES_MARKED);

  await place(page, 'Payloads').first().click();
  const answers = page.locator('.payloads-rows tbody tr').filter({ hasText: /0x0D2\s+b2\b/ });
  await answers.first().waitFor({ timeout: PATIENCE_MS });
  await answers.first().getByRole('button').click();
  await page
    .getByRole('button', { name: /^Name it/ })
    .first()
    .click();
  await page.getByRole('dialog').getByLabel('Name').first().fill('accelerator travel');
  await page
    .getByRole('dialog')
    .getByRole('button', { name: /^Name it/ })
    .click();

  await place(page, 'Handover').first().click();
  await page.locator('.handover-frame').first().waitFor({ timeout: PATIENCE_MS });
  const saved = await savedMap(page, () => page.getByRole('button', { name: /^Save signal map|^Save map/ }).click());
  expect(agreement(saved, 'accelerator_travel')).toBe(1);
  const named = pairOf(saved, 'accelerator_travel');
  expect(named.trueSignal.name).toBe('accelerator');
  expect(named.signal.evidence.length).toBeGreaterThan(0);
  expect(errors).toEqual([]);
});

test('by keyboard alone: open the demo dossier, see who answers the brake, name it, save the map', async () => {
  const { page, errors } = await bench.open();
  await tabTo(page, /Open the demo dossier/);
  await page.keyboard.press('Enter');
  await page.getByText('drive-1.log').first().waitFor({ timeout: PATIENCE_MS });
  await untilRead(page);
  await openPlace(page, 'Payloads');
  await page.locator('.payloads-rows tbody tr').first().waitFor({ timeout: PATIENCE_MS });
  await tabTo(page, /^Action\b/);
  await page.keyboard.type('brake');
  const lamp = page.locator('.payloads-rows tbody tr').filter({ hasText: /0x0C2\s+b2\.7/ });
  await lamp.first().waitFor({ timeout: PATIENCE_MS });
  await tabTo(page, /0x0C2\s+b2\.7/);
  await page.keyboard.press('Enter');
  await page.keyboard.press('n');
  await page.keyboard.type('brake lamp');
  await page.keyboard.press('Enter');
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: PATIENCE_MS });
  const saved = await savedMap(page, () => page.keyboard.press('s'));
  expect(agreement(saved, 'brake_lamp')).toBe(1);
  expect(pairOf(saved, 'brake_lamp').trueSignal.name).toBe('brake_lamp');
  expect(saved.part.title).toBe('Drive unit and pack');
  expect(errors).toEqual([]);
});
