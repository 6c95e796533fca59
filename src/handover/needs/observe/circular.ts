/**
 * Where on a circle times crowd: mean direction first, then the median of what lies around it, so that a few frames sent beside the rhythm
 * move nothing (circular statistics: Mardia and Jupp, Directional Statistics, 2000, chapter 2, from memory; the median step is our own).
 */
import { median, robustSd } from '../../../kit/statistics/order.ts';

export interface Crowd {
  /** 0 <= middle < period. */
  readonly middle: number;
  /** Robust standard deviation around it. */
  readonly spread: number;
  /** Share of the values within an eighth of the period. */
  readonly near: number;
}

export const wrapped = (value: number, period: number): number => ((value % period) + period) % period;

/** Signed way from one place to another, -period/2 <= way < period/2. */
export const way = (from: number, to: number, period: number): number =>
  wrapped(to - from + period / 2, period) - period / 2;

/** @param values [n >= 1] any numbers; only their remainders by the period count */
export function crowdOf(values: readonly number[], period: number): Crowd {
  let [cos, sin] = [0, 0];
  for (const value of values) {
    const angle = (2 * Math.PI * value) / period;
    cos += Math.cos(angle);
    sin += Math.sin(angle);
  }
  const mean = (Math.atan2(sin, cos) / (2 * Math.PI)) * period;
  const away = values.map((value) => way(mean, value, period));
  const middle = mean + median(away);
  const near = values.filter((value) => Math.abs(way(middle, value, period)) < period / 8).length / values.length;
  return { middle: wrapped(middle, period), spread: robustSd(away), near };
}

/** Two places of one rhythm are the same within this share of the period, and within what waiting for the wire makes of it. */
const SAME_SHARE = 0.1;
const WAITING_MS = 2;

/** How far apart two findings of one phase may lie, ms. */
export const samePhaseMs = (periodMs: number, spreadMs: number, stepMs = 0): number =>
  Math.min(SAME_SHARE * periodMs, Math.max(WAITING_MS, 5 * spreadMs, 2 * stepMs));
