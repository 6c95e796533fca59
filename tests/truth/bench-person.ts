/** Someone at a simulated bench: answers the checklist, runs every trial that is asked for, now and then with a slip, and drops its recording in. */
import { CHECK_ITEMS } from '../../src/handover/bench/checklist-items.ts';
import { judgedMeasurement } from '../../src/handover/bench/checklist.ts';
import { benchState, type BenchState, type PlannedTrial } from '../../src/handover/bench/next-step.ts';
import { observeTrial } from '../../src/handover/bench/observe.ts';
import { newBench, withMeasurement, withTrial, withWiringSure } from '../../src/handover/bench/record.ts';
import type { BenchRecord } from '../../src/handover/bench/record-schema.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import { ModuleOnBench, type BenchModule } from './bench-modules.ts';

const AT = '2026-01-01T10:00:00Z';

/** Everything measured, and as it should be. */
export function checkedRecord(module: BenchModule): BenchRecord {
  const made = newBench(module.map, module.plan, { release: module.plan.frames.map(({ frame }) => frame.name) });
  if (!made.ok) throw new Error(made.problems[0].message);
  if (made.value.heldBack.length > 0) throw new Error(`held back: ${JSON.stringify(made.value.heldBack[0])}`);
  return CHECK_ITEMS.reduce(
    (record, { name, range, unit }) =>
      withMeasurement(
        record,
        judgedMeasurement({
          item: name,
          value: range ? (range.low + range.high) / 2 : null,
          unit,
          note: 'as it should be',
          by: 'A. Tester',
          at: AT,
        }),
      ),
    made.value,
  );
}

export function runTrial(
  bench: ModuleOnBench,
  record: BenchRecord,
  planned: PlannedTrial,
  slip: { frozen?: string; recordedShare?: number } = {},
): BenchRecord {
  const { map, plan } = bench.module;
  const { sent, sleepS, settleS, aim } = planned;
  const table = bench.run({ sent, sleepS, settleS, ...slip });
  const periodsMs = Object.fromEntries(plan.frames.map(({ frame, periodMs }) => [frameKey(frame), periodMs ?? 100]));
  const candidates = record.candidates.map(({ key }) => key);
  const observed = observeTrial(map, table, { sent, candidates, stopped: null, settleS, periodsMs });
  const capture = { title: `trial ${planned.number}`, files: [] };
  return withTrial(record, { kind: 'set', aim, sent, sleepS, settleS, at: AT, capture, observed });
}

/** One slip in so many trials of each kind. */
const SLIPS = 40;

function slipOf(
  random: Random,
  sent: readonly string[],
  guarded: ReadonlySet<string>,
): { frozen?: string; recordedShare?: number } {
  const frozen = sent.filter((key) => guarded.has(key));
  if (random.below(SLIPS) === 0) return { recordedShare: random.between(0.1, 0.6) };
  if (random.below(SLIPS) === 0 && frozen.length > 0) return { frozen: random.pick(frozen) };
  return {};
}

export interface BenchRun {
  readonly record: BenchRecord;
  readonly state: BenchState;
}

/** Goes over the wiring again where everything failed, and is sure of it: rightly, unless a wire lacks that shows in no measurement. */
const sure = (record: BenchRecord): BenchRecord =>
  withWiringSure(record, { by: 'A. Tester', at: AT, note: 'each wire rung out to the pin' });

/** Trials beyond any bound: the search would not end. */
const RUNAWAY = 600;

/** @param isSure goes on where everything fails, instead of looking for the wire */
export function runBench(module: BenchModule, seed: number, isSure = false): BenchRun {
  const bench = new ModuleOnBench(module, seed);
  const random = createRandom(seed).fork('person');
  const guarded = new Set(module.map.frames.filter(({ counters }) => counters.length > 0).map(frameKey));
  let record = checkedRecord(module);
  for (let n = 0; n < RUNAWAY; n++) {
    const state = benchState(module.map, record);
    if (isSure && record.wiringSure.length === 0 && ['checklist-first', 'fault-stays'].includes(state.step.kind)) {
      record = sure(record);
      continue;
    }
    if (state.step.kind !== 'trial') return { record, state };
    const { trial } = state.step;
    record = runTrial(bench, record, trial, slipOf(random, trial.sent, guarded));
  }
  return { record, state: benchState(module.map, record) };
}
