/** Where the wiring checklist stands: the newest answer of each item, what still forbids a trial, what is only to be thought of. */
import { CHECK_ITEMS, type CheckItem, type CheckName } from './checklist-items.ts';
import type { BenchRecord, Measurement } from './record-schema.ts';

export interface CheckState {
  readonly item: CheckItem;
  /** The newest; null where it was never answered. */
  readonly answer: Measurement | null;
  /** Older answers, the newest first. */
  readonly before: readonly Measurement[];
  readonly state: 'open' | 'ok' | 'not-ok' | 'not-applicable';
}

export interface ChecklistState {
  readonly items: readonly CheckState[];
  /** Why no trial may be run; empty where one may. */
  readonly forbids: readonly string[];
  readonly warns: readonly string[];
}

/** As a person gives it; without a verdict it is ok where the value is in its range. */
export interface GivenMeasurement {
  readonly item: CheckName;
  readonly verdict?: Measurement['verdict'] | undefined;
  readonly value: number | null;
  readonly unit: string;
  readonly note: string;
  readonly by: string;
  readonly at: string;
}

const itemOf = (name: CheckName): CheckItem => CHECK_ITEMS.find((item) => item.name === name) as CheckItem;

/** One outside its range is not ok, whatever is said. */
export function judgedMeasurement(given: GivenMeasurement): Measurement {
  const { item, value, verdict } = given;
  const { range } = itemOf(item);
  const isOutside = range !== null && value !== null && (value < range.low || value > range.high);
  if (verdict === 'not-applicable') return { ...given, verdict };
  return { ...given, verdict: isOutside ? 'not-ok' : (verdict ?? 'ok') };
}

/** What is missing before an answer can be taken; null where nothing is. */
export function whyNotTaken({ item, verdict, value, note, by }: GivenMeasurement): string | null {
  const { title, range, unit } = itemOf(item);
  if (by.trim() === '') return `${title}: say who measured it.`;
  if (verdict === 'not-applicable') return note.trim() === '' ? `${title}: say why it does not apply.` : null;
  if (range !== null && value === null) return `${title}: give the measured value in ${unit}.`;
  if (value === null && note.trim() === '') return `${title}: say what was seen.`;
  return null;
}

function stateOf(item: CheckItem, all: readonly Measurement[]): CheckState {
  const [answer = null, ...before] = all.filter((each) => each.item === item.name).toReversed();
  return { item, answer, before, state: answer?.verdict ?? 'open' };
}

const measured = ({ value, unit, note }: Measurement): string =>
  [value === null ? '' : `${value} ${unit}`.trim(), note].filter(Boolean).join(', ');

function words({ item, answer, state }: CheckState): string {
  if (state === 'open' || !answer)
    return `${item.title}: not answered yet. ${item.measure} Expected: ${item.expected}.`;
  return `${item.title}: not ok (${measured(answer)}); expected: ${item.expected}.`;
}

export function checklistState({ checklist }: Pick<BenchRecord, 'checklist'>): ChecklistState {
  const items = CHECK_ITEMS.map((item) => stateOf(item, checklist));
  const wrong = items.filter(({ state }) => state === 'open' || state === 'not-ok');
  return {
    items,
    forbids: wrong.filter(({ item }) => item.isSafety).map(words),
    warns: wrong.filter(({ item }) => !item.isSafety).map(words),
  };
}
