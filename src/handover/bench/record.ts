/** The bench record made, read, printed and added to. No answer and no trial in it is ever replaced or lost. */
import { bad, good, type Outcome } from '../../kit/outcome.ts';
import { printJson } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { KeepAlivePlan } from '../needs/types.ts';
import { releasedKeys } from '../sending/choice.ts';
import { benchCandidates } from './candidates.ts';
import { planFacts, sameFacts, withFacts } from './plan-facts.ts';
import { benchRecordSchema, type BenchRecord, type BenchTrial, type Measurement } from './record-schema.ts';
import { readVersioned } from './versioned.ts';
import { vehicleAtRest } from './vehicle.ts';

export interface BenchChoice {
  /** Names of frames released for sending. */
  readonly release: readonly string[];
  readonly settings?: Partial<BenchRecord['settings']>;
}

/** Seconds without supply, and from power-up to the end; longer where trials ask for it. Common practice, no source. */
const DEFAULT_SETTINGS: BenchRecord['settings'] = { sleepS: 20, settleS: 12 };

/** A release of what the map does not have, or of what never goes out, is bad input. */
export function newBench(map: SignalMap, plan: KeepAlivePlan, choice: BenchChoice): Outcome<BenchRecord> {
  const released = releasedKeys(map, choice.release);
  if (!released.ok) return released;
  return good({
    format: 'loomscribe.bench',
    version: 1,
    part: map.part.title,
    ...benchCandidates(map, plan, released.value),
    released: [...choice.release],
    settings: { ...DEFAULT_SETTINGS, ...choice.settings },
    plan: planFacts(plan),
    vehicle: vehicleAtRest(map),
    checklist: [],
    wiringSure: [],
    trials: [],
  });
}

export const withMeasurement = (record: BenchRecord, measured: Measurement): BenchRecord => ({
  ...record,
  checklist: [...record.checklist, measured],
});

/** Everything sent does not make the part work, and somebody went over the wiring again: sets that leave frames out are tried from now on. */
export const withWiringSure = (record: BenchRecord, sure: BenchRecord['wiringSure'][number]): BenchRecord => ({
  ...record,
  wiringSure: [...record.wiringSure, sure],
});

/** What is known of a trial once it was run. */
export interface RunTrial {
  readonly kind: BenchTrial['kind'];
  readonly aim: string;
  readonly sent: readonly string[];
  readonly stopped?: BenchTrial['stopped'];
  readonly values?: BenchTrial['values'];
  readonly sleepS: number;
  readonly settleS: number;
  readonly at: string;
  readonly capture: BenchTrial['capture'];
  readonly observed: BenchTrial['observed'];
  readonly seen?: BenchTrial['seen'];
  readonly moved?: BenchTrial['moved'];
}

export const nextNumber = ({ trials }: BenchRecord): number => Math.max(0, ...trials.map(({ number }) => number)) + 1;

/** Its number is the next of the record. */
export function withTrial(record: BenchRecord, run: RunTrial): BenchRecord {
  const number = nextNumber(record);
  const { stopped = null, values = [], seen = null, moved = null } = run;
  const trial: BenchTrial = { ...run, sent: [...run.sent], number, stopped, values, seen, moved, setAside: '' };
  return { ...record, trials: [...record.trials, trial] };
}

/** Trials that a person does not let count, with the reason; they stay on record. */
export const withSetAside = (record: BenchRecord, numbers: readonly number[], why: string): BenchRecord => ({
  ...record,
  trials: record.trials.map((trial) => (numbers.includes(trial.number) ? { ...trial, setAside: why } : trial)),
});

/** Further frames released: candidates are found anew, trials so far stay. */
export function withReleased(
  record: BenchRecord,
  map: SignalMap,
  plan: KeepAlivePlan,
  names: readonly string[],
): Outcome<BenchRecord> {
  const release = [...new Set([...record.released, ...names])];
  const made = newBench(map, withFacts(plan, record.plan), { release });
  if (!made.ok) return made;
  const { candidates, heldBack, released } = made.value;
  return good({ ...record, candidates, heldBack, released });
}

/** The plan that captures told more of: candidates are found anew. Bad once trials were run by another, for then they would not be alike. */
export function withPlan(record: BenchRecord, map: SignalMap, plan: KeepAlivePlan): Outcome<BenchRecord> {
  const facts = planFacts(plan);
  if (sameFacts(facts, record.plan)) return good(record);
  if (record.trials.length > 0) {
    const by = record.plan ? record.plan.captures.join(', ') : 'the map alone';
    return bad({
      code: 'trials-by-another-plan',
      message: `trials were run by the times from ${by}, and another plan would change those of the next ones.`,
      advice: 'Leave the plan away, or begin a new record.',
    });
  }
  const made = newBench(map, plan, { release: record.released });
  if (!made.ok) return made;
  const { candidates, heldBack } = made.value;
  return good({ ...record, candidates, heldBack, plan: facts });
}

const RECORD = { format: 'loomscribe.bench', version: 1, schema: benchRecordSchema, called: 'bench record' };

/** `name` is told in problems. */
export const parseBench = (text: string, name: string): Outcome<BenchRecord> => readVersioned(text, name, RECORD);

export const printBench = (record: BenchRecord): string => printJson(record);
