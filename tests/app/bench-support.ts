/** An invented part and its bus: a recording with spans marked at rest, and what a logger writes of trials on a bench. Nothing of it is of a real vehicle. */
import type { Page } from 'playwright-core';
import { createRandom } from '../../src/kit/random.ts';
import { openPlace } from './open-place.ts';
import { fieldOption, holdIdentifier } from './places-support.ts';
import { pick, untilRead, type Bench, type OpenedPage } from './shell-support.ts';

/** Sent by the part, which is told by their clock; the others by two modules that it may need. */
const PART: readonly string[] = ['120', '124', '128'];
/** The only one that it does need. */
export const NEEDED = 'can0/0x2B4';

interface Sender {
  readonly id: string;
  readonly periodS: number;
  /** Its clock against the logger's. */
  readonly ppm: number;
}

const SENDERS: readonly Sender[] = [
  { id: '120', periodS: 0.02, ppm: 55 },
  { id: '124', periodS: 0.05, ppm: 55 },
  { id: '128', periodS: 0.1, ppm: 55 },
  { id: '2B4', periodS: 0.02, ppm: -40 },
  { id: '3C1', periodS: 0.05, ppm: -140 },
  { id: '3C4', periodS: 0.1, ppm: -140 },
];

const hex = (bytes: readonly number[]): string =>
  bytes.map((byte) => (Math.round(byte) & 255).toString(16).toUpperCase().padStart(2, '0')).join('');

const INIT = 1;
const READY = 2;

function payloadOf(id: string, n: number, atS: number, state: number): string {
  if (id === '120') return hex([state, 0, 40 + 20 * Math.sin(atS / 7), 0, 0, 0, n % 16, 0]);
  if (id === '2B4') return hex([90 + 60 * Math.sin(atS / 9), 0, 0, 0, n % 16, 0]);
  if (id === '3C1') return hex([0, 20 + atS / 3, 0, n % 8]);
  if (id === '124') return hex([0, 0, 60 + 9 * Math.cos(atS / 4), n % 8]);
  if (id === '128') return hex([25 + atS / 20, 7]);
  return hex([3, 0, 100 + 30 * Math.sin(atS / 5), 0]);
}

interface Course {
  readonly lastsS: number;
  readonly ids: readonly string[];
  readonly stateAt: (atS: number) => number;
  readonly seed: number;
}

function linesOf({ lastsS, ids, stateAt, seed }: Course): string {
  const random = createRandom(seed);
  const rows: { atS: number; text: string }[] = [];
  for (const { id, periodS, ppm } of SENDERS.filter((sender) => ids.includes(sender.id))) {
    const [phase, own] = [random.next() * periodS, periodS * (1 + ppm * 1e-6)];
    for (let n = 0; n * own + phase < lastsS; n++) {
      const atS = n * own + phase + random.normal() * 1e-5;
      rows.push({
        atS,
        text: `(${(1_760_000_000 + atS).toFixed(6)}) can0 ${id}#${payloadOf(id, n, atS, stateAt(atS))}`,
      });
    }
  }
  return rows
    .sort((a, b) => a.atS - b.atS)
    .map(({ text }) => `${text}\n`)
    .join('');
}

export const vehicleLog = (): string =>
  linesOf({
    lastsS: 90,
    ids: SENDERS.map(({ id }) => id),
    stateAt: (atS) => (atS < 4 || (atS > 70 && atS < 74) ? INIT : READY),
    seed: 31,
  });

/** What a trial with these frames looks like, by key. */
export function trialLog(sent: readonly string[], seed: number): string {
  const ids = sent.map((key) => key.replace('can0/0x', ''));
  const works = sent.includes(NEEDED);
  const stateAt = (atS: number): number => (works && atS > 1.2 ? READY : INIT);
  return linesOf({ lastsS: 40, ids: [...PART, ...ids], stateAt, seed });
}

/** Seconds of the capture: one that may be taken, one with a pedal in it. */
export const REST_MARKS = ['start,end,action', '20,34,at rest', '50,58,at rest', '53,54,pedal pressed', ''].join('\n');

/** The recording read, its state field named, marks imported, Handover open, and the part's sender said. */
export async function openAtBench(bench: Bench, options: Parameters<Bench['open']>[0] = {}): Promise<OpenedPage> {
  const opened = await bench.open(options);
  const { page } = opened;
  await pick(page, 'Choose files', 'yard.log', vehicleLog());
  await untilRead(page);
  await openPlace(page, 'Marks');
  await pick(page, 'Import', 'marks.csv', REST_MARKS);
  await page.getByText('3 marks').first().waitFor();
  await openPlace(page, 'Payloads');
  await holdIdentifier(page, '0x120');
  await fieldOption(page, /^b0/).click({ timeout: 60_000 });
  await page.keyboard.press('n');
  await page.keyboard.type('mode');
  await page.getByLabel('role').selectOption('state');
  await page.locator('dialog input').first().press('Enter');
  await openPlace(page, 'Handover');
  await page.locator('.handover-frame').first().waitFor({ timeout: 60_000 });
  return opened;
}

/** The part by its three frames; the other sender that was told has two. */
export async function sayThePart(page: Page): Promise<void> {
  await page.locator('.part-senders .button').filter({ hasText: '3' }).focus();
  await page.keyboard.press('Enter');
}

export async function openOutput(page: Page, title: RegExp): Promise<void> {
  await page.getByRole('button', { name: title }).first().click();
}
