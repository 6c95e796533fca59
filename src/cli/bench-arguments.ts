/** Words of the verb `bench`: measurements, what a person saw, trials that do not count. */
import { CHECK_ITEMS, CHECK_NAMES, type CheckName } from '../handover/bench/checklist-items.ts';
import { judgedMeasurement, whyNotTaken, type GivenMeasurement } from '../handover/bench/checklist.ts';
import type { BenchRecord, BenchTrial, Measurement } from '../handover/bench/record-schema.ts';
import { WrongUsage } from './arguments.ts';

const ANSWERS = ['ok', 'not-ok', 'not-applicable'] as const;
const VALUE = /^(-?\d+(?:[.,]\d+)?)\s*([^\d\s:]*)$/;

function isCheck(name: string): name is CheckName {
  return (CHECK_NAMES as readonly string[]).includes(name);
}

/** "supply=12.6V", "termination=60 ohm: both ends", "shaft=ok: uncoupled, guard on", "crash-line=not-applicable: has none". */
export function measurementOf(text: string, by: string, at: string): Measurement {
  const [, item = '', answer = '', note = ''] = /^([^=]+)=([^:]*)(?::\s*(.*))?$/s.exec(text) ?? [];
  if (!isCheck(item))
    throw new WrongUsage(`--measure takes ITEM=VALUE, ITEM one of ${CHECK_NAMES.join(', ')}, not "${text}".`);
  const given: Omit<GivenMeasurement, 'value' | 'unit'> = { item, note: note.trim(), by, at };
  const usual = CHECK_ITEMS.find(({ name }) => name === item)?.unit ?? '';
  const verdict = ANSWERS.find((each) => each === answer.trim());
  const value = VALUE.exec(answer.trim());
  if (!verdict && !value)
    throw new WrongUsage(
      `--measure ${item}= takes a value such as 12.6V, or ${ANSWERS.join(', ')}; "${answer}" is neither.`,
    );
  const measured: GivenMeasurement = value
    ? { ...given, value: Number(value[1]?.replace(',', '.')), unit: value[2] || usual }
    : { ...given, value: null, unit: usual, verdict };
  const missing = whyNotTaken(measured);
  if (missing) throw new WrongUsage(`--measure ${text}: ${missing}`);
  return judgedMeasurement(measured);
}

/** What somebody says who is sure of the wiring: who, and what was checked. */
export function wiringSureOf(note: string, by: string, at: string): BenchRecord['wiringSure'][number] {
  if (by.trim() === '') throw new WrongUsage('--wiring-sure: say who went over the wiring, with --by.');
  if (note.trim() === '') throw new WrongUsage('--wiring-sure takes what was checked, in words.');
  return { by: by.trim(), at, note: note.trim() };
}

const VERDICTS = ['asleep', 'awake-with-fault', 'operational', 'unclear'] as const;

/** "operational: relay clicked, lamp green". */
export function seenOf(text: string | undefined): BenchTrial['seen'] {
  if (text === undefined) return null;
  const [, word = '', note = ''] = /^([^:]*)(?::\s*(.*))?$/s.exec(text) ?? [];
  const verdict = VERDICTS.find((each) => each === word.trim());
  if (!verdict) throw new WrongUsage(`--seen takes ${VERDICTS.join(', ')}, with a note behind a colon, not "${text}".`);
  return { verdict, note: note.trim() };
}

export function movedOf(text: string | undefined): boolean | null {
  if (text === undefined) return null;
  if (text === 'yes' || text === 'no') return text === 'yes';
  throw new WrongUsage(`--moved takes yes or no: whether anything moved or clicked that should not, not "${text}".`);
}

/** "1,2,5=the interlock was open". */
export function setAsideOf(text: string): { readonly numbers: readonly number[]; readonly why: string } {
  const match = /^(\d+(?:,\d+)*)=(.+)$/s.exec(text);
  if (!match) throw new WrongUsage(`--set-aside takes N,N=WHY, such as 1,2=the interlock was open, not "${text}".`);
  return { numbers: (match[1] as string).split(',').map(Number), why: (match[2] as string).trim() };
}

export function secondsOf(text: string | undefined, option: string): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (Number.isFinite(value) && value >= 1 && value <= 3600) return value;
  throw new WrongUsage(`--${option} takes 1 to 3600 seconds, not "${text}".`);
}
