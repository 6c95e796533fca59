/**
 * What the operator wrote down: each action late by a person's reaction (150 to 450 ms, the published range of simple and
 * choice reactions), on the clock of a phone, with a mark missed here and an extra one there.
 */
import { createRandom, type Random } from '../kit/random.ts';
import { ACTIONS, type ActionName, type DriverScript } from './script.ts';

export interface OperatorMark {
  readonly action: ActionName;
  /** On the operator's clock, epoch seconds. */
  readonly startS: number;
  readonly endS: number | null;
  readonly value: string;
  readonly note: string;
}

export interface OperatorOptions {
  readonly startEpochS: number;
  /** How far the operator's clock is ahead of the logger's. */
  readonly aheadS: number;
  readonly missed: number;
  readonly extra: number;
  readonly seed: number;
}

const reaction = (random: Random): number => random.between(0.15, 0.45);
const tenthsOfMs = (seconds: number): number => Math.round(seconds * 1000) / 1000;

function depthNote(depth: number | undefined): string {
  if (depth === undefined) return '';
  return depth > 0.75 ? 'deep' : depth < 0.4 ? 'light' : '';
}

function extraMark(random: Random, script: DriverScript, shiftS: number): OperatorMark {
  const action = random.pick([ACTIONS.brake, ACTIONS.accelerator]);
  const startS = random.between(0.2, 0.8) * script.durationS + shiftS;
  return { action, startS: tenthsOfMs(startS), endS: tenthsOfMs(startS + random.between(0.8, 2)), value: '', note: '' };
}

/** Marks in time order, each time to the millisecond. */
export function observeMarks(script: DriverScript, options: OperatorOptions): readonly OperatorMark[] {
  const random = createRandom(options.seed).fork('operator');
  const shiftS = options.startEpochS + options.aheadS;
  const marks = script.actions.map(({ action, startS, endS, value, depth }): OperatorMark => ({
    action,
    startS: tenthsOfMs(startS + shiftS + reaction(random)),
    endS: endS === null ? null : tenthsOfMs(endS + shiftS + reaction(random)),
    value: value ?? '',
    note: depthNote(depth),
  }));
  const often = marks
    .map(({ action }) => action)
    .filter((action) => action === ACTIONS.brake || action === ACTIONS.accelerator).length;
  for (let i = 0; i < options.missed && often > 4; i++) {
    const candidates = marks
      .map(({ action }, index) => ({ action, index }))
      .filter(({ action }) => action === ACTIONS.brake || action === ACTIONS.accelerator);
    marks.splice(random.pick(candidates).index, 1);
  }
  for (let i = 0; i < options.extra; i++) marks.push(extraMark(random, script, shiftS));
  return marks.sort((a, b) => a.startS - b.startS);
}

export function marksCsv(marks: readonly OperatorMark[]): string {
  const rows = marks.map(({ action, startS, endS, value, note }) =>
    [startS.toFixed(3), endS === null ? '' : endS.toFixed(3), action, value, note].join(','),
  );
  return ['start,end,action,value,note', ...rows].join('\n') + '\n';
}
