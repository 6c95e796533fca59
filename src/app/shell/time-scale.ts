/** The one time scale: seconds on the ruler to pixels of the time column, and the steps its bars and figures take. */
import { scaleLinear } from 'd3-scale';
import { useMemo } from 'react';
import { useView, type Span } from '../stores/view.ts';

export interface TimeScale extends Span {
  readonly width: number;
  /** Pixels from the left of the time column. */
  x(atS: number): number;
  /** Seconds on the ruler. */
  at(x: number): number;
}

export function timeScale({ fromS, toS }: Span, width: number): TimeScale {
  const scale = scaleLinear([fromS, toS === fromS ? fromS + 1 : toS], [0, width]);
  return { fromS, toS, width, x: scale, at: (x) => (width > 0 ? scale.invert(x) : fromS) };
}

export function useTimeScale(): TimeScale {
  const window = useView((view) => view.window);
  const width = useView((view) => view.timeWidth);
  return useMemo(() => timeScale(window, width), [window, width]);
}

const STEPS = [
  0.0001, 0.0002, 0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 60, 120, 300, 600,
  1800, 3600, 7200, 14400, 43200, 86400,
];

/** Seconds a bar lasts, so that it is 20 px or more. */
export const barStep = (span: number, width: number): number =>
  STEPS.find((step) => (step / span) * width >= 20) ?? (STEPS.at(-1) as number);

/** Seconds between figures: a step of whole bars, wide enough for `labelWidth`. */
export function figureStep(span: number, width: number, labelWidth: number): number {
  const bar = barStep(span, width);
  return (
    STEPS.find((step) => step >= bar * 2 && (step / span) * width >= labelWidth && wholeMultiple(step, bar)) ?? bar * 4
  );
}
const wholeMultiple = (step: number, bar: number): boolean => Math.abs(step / bar - Math.round(step / bar)) < 1e-9;

/** Decimals a figure needs at this step. */
export const figureDigits = (step: number): number => Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
