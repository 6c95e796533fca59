/** Confidences as they are shown: cut, never rounded up, so that only what is certain reads as certain. */
import { expect, test } from 'vitest';
import { confidenceFigure, confidencePercent } from '../../src/kit/figures.ts';

test.each([
  [0, '0 %', '0.00'],
  [0.29, '29 %', '0.29'],
  [0.909, '90 %', '0.90'],
  [0.96, '96 %', '0.96'],
  [0.985, '98 %', '0.98'],
  [0.99, '99 %', '0.99'],
  [0.991, '99.1 %', '0.991'],
  [0.999, '99.9 %', '0.999'],
  [0.9997, '99.9 %', '0.999'],
  [1, '100 %', '1.00'],
])('%s reads as %s, in a column as %s', (confidence, percent, figure) => {
  expect(confidencePercent(confidence)).toBe(percent);
  expect(confidenceFigure(confidence)).toBe(figure);
});

test('every thousandth below 1 stays below 1, and what is surer never reads as less sure', () => {
  const shown = Array.from({ length: 1000 }, (_, k) => k / 1000);
  const percents = shown.map((confidence) => Number.parseFloat(confidencePercent(confidence)));
  const figures = shown.map((confidence) => Number(confidenceFigure(confidence)));
  for (const [k, confidence] of shown.entries()) {
    expect(percents[k]).toBeLessThanOrEqual(confidence * 100 + 1e-9);
    expect(figures[k]).toBeLessThanOrEqual(confidence + 1e-12);
    expect(percents[k]).toBeGreaterThanOrEqual(percents[k - 1] ?? 0);
    expect(figures[k]).toBeGreaterThanOrEqual(figures[k - 1] ?? 0);
  }
});
