/** The bench record made, read, printed and added to. Nothing in it is ever replaced. */
import type { z } from 'zod';
import { bad, good, type Outcome, type Problem } from '../../kit/outcome.ts';
import { jsonPath } from '../../map/parse.ts';
import { printJson } from '../../map/print.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { KeepAlivePlan } from '../needs/types.ts';
import { releasedKeys } from '../sending/choice.ts';
import { benchCandidates } from './candidates.ts';
import { benchRecordSchema, type BenchRecord, type BenchTrial, type Measurement } from './record-schema.ts';
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
    vehicle: vehicleAtRest(map),
    checklist: [],
    trials: [],
  });
}

export const withMeasurement = (record: BenchRecord, measured: Measurement): BenchRecord => ({
  ...record,
  checklist: [...record.checklist, measured],
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

/** Its number is the next of the record. */
export function withTrial(record: BenchRecord, run: RunTrial): BenchRecord {
  const number = Math.max(0, ...record.trials.map((each) => each.number)) + 1;
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
  const made = newBench(map, plan, { release });
  if (!made.ok) return made;
  const { candidates, heldBack, released } = made.value;
  return good({ ...record, candidates, heldBack, released });
}

const problemOf = (issue: z.core.$ZodIssue, file: string): Problem => ({
  code: 'not-in-schema',
  message: `${issue.message.replace(/\.$/, '')}.`,
  advice: 'Mend the value at that path, or take an older copy of the record.',
  place: { file, path: jsonPath(issue.path) },
});

/** `name` is told in problems. */
export function parseBench(text: string, name: string): Outcome<BenchRecord> {
  let document: unknown;
  try {
    document = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    const message = `this is not JSON: ${error instanceof Error ? error.message : String(error)}.`;
    const advice = 'Give the bench record as it was written.';
    return bad({ code: 'not-json', message, advice, place: { file: name } });
  }
  const { format, version } = (document ?? {}) as { format?: unknown; version?: unknown };
  if (format !== 'loomscribe.bench') {
    const advice = 'Give a file whose "format" is "loomscribe.bench".';
    return bad({ code: 'not-a-bench-record', message: 'this is no bench record.', advice, place: { file: name } });
  }
  if (version !== 1) {
    const message = `this record has version ${JSON.stringify(version)}, and this program reads version 1.`;
    const advice = 'Use the program version that wrote it, or a newer one.';
    return bad({ code: 'unknown-version', message, advice, place: { file: name, path: 'version' } });
  }
  const parsed = benchRecordSchema.safeParse(document);
  if (parsed.success) return good(parsed.data);
  const [first, ...rest] = parsed.error.issues.map((issue) => problemOf(issue, name));
  return bad(first as Problem, ...rest);
}

export const printBench = (record: BenchRecord): string => printJson(record);
