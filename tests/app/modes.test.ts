/** The band of modes: what its picture draws, how arrows walk in it, which marks it asks with; and the same on the page, by keyboard and with a mark that names one. */
import axe from 'axe-core';
import { describe, expect, test } from 'vitest';
import { inView, spanWords, stepTo, viewOf } from '../../src/app/modes/spans.ts';
import { modeLook, modesScene } from '../../src/app/pictures/modes-scene.ts';
import { modesTold, withModes } from '../../src/app/stores/modes.ts';
import { recordingSurface } from '../../src/kit/drawing/recording-surface.ts';
import type { Palette } from '../../src/kit/drawing/palette.ts';
import type { ModeSpan, Survey } from '../../src/timing/types.ts';
import { openPlace } from './open-place.ts';
import { benchForTests, logLines, pick, untilRead } from './shell-support.ts';

const palette = new Proxy(
  { hatches: ['h1', 'h2', 'h3', 'h4', 'h5', 'h6'] },
  { get: (known, name) => known[name as keyof typeof known] ?? String(name) },
) as unknown as Palette;

const span = (mode: string, fromS: number, toS: number): ModeSpan => ({ mode, fromS, toS, why: '' });
const SPANS = [span('asleep', 0, 10), span('waking', 10, 11), span('on', 11, 40), span('driving', 40, 100)];
const ALL = { fromS: 0, toS: 100 };

/** x and y of the foot, of where it begins and of where it ends. */
type Corners = [number, number, number, number, number, number];

describe('the picture', () => {
  const points = (mode: string, fromS: number, toS: number): number[] => {
    const { surface, drawn } = recordingSurface(1000, 26);
    modesScene([span(mode, fromS, toS)], ALL)(surface, palette);
    return (drawn.find(({ what }) => what === 'area')?.with[0] as number[] | undefined) ?? [];
  };

  test('every mode differs from every other in height, outline or texture, without its ink', () => {
    const names = ['asleep', 'waking', 'on', 'ready', 'driving', 'charging', 'shutting down'];
    const shapes = names.map((mode) => {
      const { high, outline, texture } = modeLook(mode);
      return `${high} ${outline} ${texture}`;
    });
    expect(new Set(shapes).size).toBe(names.length);
    expect(modeLook('driving 2')).toBe(modeLook('driving'));
  });

  test('a span stands at its time, waking rises and shutting down falls, asleep has no bar', () => {
    const [left, , , , right] = points('driving', 40, 90);
    expect([left, right]).toEqual([400, 900]);
    const [, , , wakesFrom, , wakesTo] = points('waking', 10, 20) as Corners;
    expect(wakesFrom).toBeGreaterThan(wakesTo);
    const [, , , fallsFrom, , fallsTo] = points('shutting down', 10, 20) as Corners;
    expect(fallsFrom).toBeLessThan(fallsTo);
    expect(points('asleep', 0, 10)).toEqual([]);
  });

  test('the shortest span still shows, what lies outside the view does not', () => {
    const [left, , , , right] = points('on', 50, 50.001) as Corners;
    expect(right - left).toBeGreaterThanOrEqual(2);
    expect(points('on', 120, 130)).toEqual([]);
  });
});

describe('arrows', () => {
  test('walk from span to span and stop at the ends; without one held they begin in view', () => {
    expect(stepTo('ArrowRight', 1, SPANS, ALL)).toBe(2);
    expect(stepTo('ArrowRight', 3, SPANS, ALL)).toBe(3);
    expect(stepTo('ArrowLeft', 0, SPANS, ALL)).toBe(0);
    expect(stepTo('ArrowRight', null, SPANS, { fromS: 20, toS: 30 })).toBe(2);
    expect(stepTo('End', 0, SPANS, ALL)).toBe(3);
    expect(stepTo('m', 0, SPANS, ALL)).toBeNull();
  });
  test('the view goes to a span with room on both sides', () => {
    expect(viewOf(span('on', 10, 60))).toEqual({ fromS: 8, toS: 62 });
    expect(inView(SPANS, { fromS: 10.5, toS: 30 })).toEqual([1, 2]);
    expect(spanWords(span('driving', 40, 100))).toBe('driving, 0:40.0 to 1:40.0, 1 min');
  });
});

describe('marks and the survey', () => {
  test('only marks that tell of a mode are asked with', () => {
    const told = modesTold([
      { action: 'brake pressed', startS: 1, endS: 2 },
      { action: 'key turned', startS: 3.00049, endS: null, value: 'start' },
      { action: 'plug inserted', startS: 5, endS: 9 },
    ]);
    expect(told).toEqual([
      { action: 'key turned', startS: 3, endS: null, value: 'start' },
      { action: 'plug inserted', startS: 5, endS: 9 },
    ]);
  });
  test('an answer about another span is left aside', () => {
    const survey = { modes: SPANS, frames: [{ timing: { kind: 'once' } }] } as unknown as Survey;
    expect(withModes(survey, { modes: [], timings: [] })).toBe(survey);
    const answer = { modes: [span('charging', 0, 1)], timings: survey.frames.map(({ timing }) => timing) };
    expect(withModes(survey, answer).modes).toBe(answer.modes);
    expect(withModes(survey, answer)).toBe(withModes(survey, answer));
  });
});

const bench = benchForTests();
const ORIGIN_S = 1_700_000_000;

test('spans are walked, shown alone and let go by keyboard, in three places; a mark names one, its end takes the name back', async () => {
  const { page, errors } = await bench.open();
  await pick(page, 'Choose files', 'yard.log', logLines(ORIGIN_S));
  await untilRead(page);
  const band = page.getByRole('listbox', { name: /^Modes of the vehicle/ });
  await band.waitFor({ timeout: 60_000 });
  expect(await band.getByRole('option', { name: /charging/ }).count()).toBe(0);
  await openPlace(page, 'Marks');
  const csv = `start,end,action\n${ORIGIN_S + 20},${ORIGIN_S + 50},plug inserted\n`;
  await pick(page, 'Import', 'marks.csv', csv);
  const charging = band.getByRole('option', { name: /^charging, 0:20\.0 to 0:50\.0.*marked "plug inserted"/ });
  await charging.waitFor({ state: 'attached', timeout: 90_000 });
  for (const place of ['Marks', 'Captures', 'Senders']) {
    await openPlace(page, place);
    await band.focus();
    await page.keyboard.press('Home');
    for (let step = 0; step < 8 && (await charging.getAttribute('aria-selected')) !== 'true'; step++)
      await page.keyboard.press('ArrowRight');
    expect(await charging.getAttribute('aria-selected')).toBe('true');
    await page.locator('.modes-why', { hasText: 'marked "plug inserted"' }).waitFor();
    await page.keyboard.press('Enter');
    await page.getByText('view 0:18.8 to 0:51.2').waitFor();
    await page.getByRole('button', { name: 'Show all' }).click();
    await page.evaluate(axe.source.replace('"use strict";', ''));
    const found = await page.evaluate(async () => {
      const { axe: own } = window as unknown as { axe: { run(): Promise<{ violations: { id: string }[] }> } };
      return (await own.run()).violations.map((violation) => JSON.stringify(violation).slice(0, 400));
    });
    expect(found).toEqual([]);
    await band.focus();
    await page.keyboard.press('Escape');
    expect(await page.locator('.modes-why').count()).toBe(0);
  }
  await openPlace(page, 'Marks');
  await page.keyboard.press('Control+z');
  await charging.waitFor({ state: 'detached', timeout: 60_000 });
  await page.setViewportSize({ width: 390, height: 844 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
  expect(errors).toEqual([]);
});
