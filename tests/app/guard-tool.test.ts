/** Payloads in a real browser: a checksum's rule is changed by keyboard alone and held against all frames at once. */
import { expect, test } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { compileSmallCrc } from '../../src/map/crc.ts';
import { openPlace } from './open-place.ts';
import { fieldOption } from './places-support.ts';
import { benchForTests, pick, untilRead, type OpenedPage } from './shell-support.ts';

const bench = benchForTests();
const FRAMES = 6000;

/** An invented bus: one identifier with two values, a counter and a CRC of polynomial 0x2F behind them. */
function recording(): string {
  const random = createRandom('guarded frame');
  const crc = compileSmallCrc({ width: 8, poly: 0x2fn, init: 0xffn, refin: false, refout: false, xorout: 0xffn });
  let [first, second] = [20_000, 9_000];
  return Array.from({ length: FRAMES }, (_, k) => {
    first += random.below(81) - 40;
    second += random.below(31) - 15;
    const data = [first >> 8, first & 255, second >> 8, second & 255, 0x20 | (k % 16)];
    const bytes = [...data, crc.finish(data.reduce(crc.feed, crc.start))];
    const hex = bytes
      .map((byte) => byte.toString(16).padStart(2, '0'))
      .join('')
      .toUpperCase();
    return `(${(1_700_000_000 + k / 100).toFixed(6)}) can0 2C4#${hex}\n`;
  }).join('');
}

async function openPayloads(options: Parameters<typeof bench.open>[0] = {}): Promise<OpenedPage> {
  const opened = await bench.open(options);
  await pick(opened.page, 'Choose files', 'bench.log', recording());
  await untilRead(opened.page);
  await openPlace(opened.page, 'Payloads');
  await fieldOption(opened.page, /checksum/).waitFor({ timeout: 60_000 });
  return opened;
}

/** The place with a guard held, and what it says of all frames, once that is `answer`. */
async function holdGuard(kind: RegExp, answer: RegExp) {
  const { page, errors } = await openPayloads();
  await fieldOption(page, kind).click();
  const part = page.locator('.payloads-guard');
  const verdict = part.getByRole('status');
  await expect.poll(() => verdict.innerText(), { timeout: 20_000 }).toMatch(answer);
  return { page, errors, part, verdict };
}

test('a covered byte taken out by keyboard fails nearly all frames; undo brings all back', async () => {
  const { page, errors, part, verdict } = await holdGuard(/checksum/, /6,000 of 6,000 frames pass/);
  expect(await part.innerText()).toMatch(/as found/);

  await part.getByRole('button', { name: 'Change the rule' }).focus();
  await page.keyboard.press('Enter');
  // The upper half of byte 4 is 2 in every frame.
  expect(await part.innerText()).toMatch(/Never moved in this capture: .*bits 7–4 of byte 4/);
  const bytes = part.getByRole('group', { name: 'Covered bytes' });
  await bytes.getByRole('button', { name: 'byte 0' }).focus();
  await page.keyboard.press('ArrowRight');
  expect(await bytes.getByRole('button', { name: 'byte 1' }).getAttribute('aria-pressed')).toBe('true');
  await page.keyboard.press('Space');
  await expect.poll(() => verdict.innerText()).toMatch(/^\d{1,3} of 6,000 frames pass/);
  expect(await verdict.innerText()).toMatch(/By chance about one frame in 256 would pass/);

  // The first moment that fails is one key away on the ruler.
  const moment = verdict.getByRole('button').first();
  const at = await moment.innerText();
  await moment.focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => page.locator('body').innerText()).toContain(at);

  await part.getByRole('button', { name: 'Undo' }).focus();
  await page.keyboard.press('Enter');
  await expect.poll(() => verdict.innerText()).toMatch(/6,000 of 6,000 frames pass/);

  // What cannot be a rule is not asked, and the row says what to do.
  await part.getByLabel('Polynomial').fill('12F');
  await expect.poll(() => part.innerText()).toMatch(/Leave out its top bit: write 0x2F\./);
  await part.getByLabel('Polynomial').fill('2F');
  await expect.poll(() => verdict.innerText()).toMatch(/6,000 of 6,000 frames pass/);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a counter says what follows on; another modulus skips', async () => {
  const { page, errors, part, verdict } = await holdGuard(/counter/, /5,999 of 5,999 frames follow on/);
  await part.getByRole('button', { name: 'Change the rule' }).click();
  await part.getByLabel('Modulus').fill('15');
  await expect.poll(() => verdict.innerText()).toMatch(/0 repeats, 749 skips/);
  await part.getByRole('button', { name: 'As found' }).click();
  await expect.poll(() => verdict.innerText()).toMatch(/5,999 of 5,999/);
  expect(errors).toEqual([]);
  await page.context().close();
});

test('a rule kept by hand says so, stays after the finders looked again, and can be undone', async () => {
  const { page, errors, part, verdict } = await holdGuard(/checksum/, /6,000 of 6,000 frames pass/);
  await part.getByRole('button', { name: 'Change the rule' }).click();
  await part.getByRole('group', { name: 'Covered bytes' }).getByRole('button', { name: 'byte 1' }).click();
  await expect.poll(() => verdict.innerText()).toMatch(/^\d{1,3} of 6,000 frames pass/);
  await part.getByRole('button', { name: 'Keep this rule' }).click();
  await expect.poll(() => part.innerText(), { timeout: 20_000 }).toMatch(/kept by hand/);
  await expect.poll(() => verdict.innerText(), { timeout: 20_000 }).toMatch(/^\d{1,3} of 6,000 frames pass/);
  await page.keyboard.press('Control+z');
  await expect.poll(() => part.innerText(), { timeout: 20_000 }).toMatch(/as found/);
  await expect.poll(() => verdict.innerText(), { timeout: 20_000 }).toMatch(/6,000 of 6,000 frames pass/);
  expect(await part.innerText()).not.toMatch(/kept by hand/);
  expect(errors).toEqual([]);
  await page.context().close();
});
