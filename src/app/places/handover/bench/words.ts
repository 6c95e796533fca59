/** The bench in words. Pure. */
import type { FrameConclusion } from '../../../../handover/bench/conclusions.ts';
import type { Measurement } from '../../../../handover/bench/record-schema.ts';
import type { CheckState } from '../../../../handover/bench/checklist.ts';
import type { JudgedTrial } from '../../../../handover/bench/verdicts.ts';
import { value } from '../../../../kit/sheet-figures.ts';

export type Verdict = JudgedTrial['verdict'];

export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = {
  asleep: 'asleep',
  'awake-with-fault': 'awake, with a fault',
  operational: 'operational',
  unclear: 'unclear',
};

export const STATE_WORDS: Readonly<Record<CheckState['state'], string>> = {
  open: 'open',
  ok: 'ok',
  'not-ok': 'not ok',
  'not-applicable': 'does not apply',
};

export const NEED_WORDS: Readonly<Record<FrameConclusion['verdict'], string>> = {
  required: 'required',
  'not-required': 'not required',
  untested: 'untested',
};

/** "12.6 V, under load". */
export const measuredWords = ({ value: measured, unit, note }: Measurement): string =>
  [measured === null ? '' : `${value(measured)} ${unit}`.trim(), note].filter(Boolean).join(', ');

/** A figure as typed, with point or comma; null: none was typed; NaN: it is none. */
export function figureOf(text: string): number | null {
  const trimmed = text.trim().replace(',', '.');
  if (trimmed === '') return null;
  return /^[-+]?\d+(\.\d+)?$/.test(trimmed) ? Number(trimmed) : Number.NaN;
}

/** "30 Nov, 09:12" of an ISO instant, on this machine's clock. */
export const dayAndTime = (at: string): string =>
  new Date(at).toLocaleString(undefined, { day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' });
