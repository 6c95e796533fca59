/**
 * How often a field moves as it does at an action's marks: at how many of them, and how often otherwise. A person can use "16 of 16, and never otherwise"; how many
 * standard deviations that is says little of a field that rests.
 */
import { wrap } from '../kit/statistics/shifts.ts';
import type { FieldView } from './field-view.ts';
import { SHIFT_S, SHIFT_STRIDE, shiftIndex } from './grid.ts';
import type { ActionPlan, Train } from './plan.ts';
import type { Moves } from './types.ts';

/** Share of the mean effect from which on it moved as it does there. */
const AS_MUCH = 0.5;
/** A mark and its answer may be so far apart. */
const AROUND_S = 1;

const instants = ({ marks }: ActionPlan): readonly (readonly [number, number])[] =>
  marks.map(({ startS, endS }) => [startS, endS ?? startS] as const);

/** @param shift where the marks' answers lie, in steps of SHIFT_S from the marks as they are */
export function movesOf(view: FieldView, train: Train, plan: ActionPlan, shift: number, effect: number): Moves {
  const { circle } = view;
  const isAsMuch = (response: number): boolean =>
    (train.alternating ? Math.abs(response) : response * Math.sign(effect)) >= AS_MUCH * Math.abs(effect);
  const kernel = (train.events[0] as Train['events'][number]).kernel;
  const response = view.response(kernel);
  const wide = Math.ceil(kernel.points / SHIFT_STRIDE);
  const around = Math.round(AROUND_S / SHIFT_S) + wide;
  const taken = new Uint8Array(response.length);
  for (const [startS, endS] of instants(plan)) {
    const from = shiftIndex(circle, startS) + shift - around;
    const to = shiftIndex(circle, endS) + shift + around;
    for (let k = Math.max(0, from); k <= Math.min(response.length - 1, to); k++) taken[k] = 1;
  }
  let otherwise = 0;
  let last = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < response.length; k++) {
    if (taken[k] || !isAsMuch(response[k] as number)) continue;
    if (k - last > wide) otherwise++;
    last = k;
  }
  const at = train.events.filter(({ atS, kernel: own }) => {
    const middle = shiftIndex(circle, atS) + shift;
    const answers = view.response(own);
    const near = Math.round(AROUND_S / 2 / SHIFT_S);
    for (let k = middle - near; k <= middle + near; k++)
      if (isAsMuch(answers[wrap(k, answers.length)] as number)) return true;
    return false;
  }).length;
  return { at, of: train.events.length, otherwise };
}
