/** The bench of the page without a page: the record as it stands, the history that is drawn, figures as they are typed. */
import { describe, expect, it } from 'vitest';
import { historyOf } from '../../src/app/places/handover/bench/history.ts';
import { isOfTrial, judgedSoFar, trialWith, withObserved } from '../../src/app/places/handover/bench/judged.ts';
import {
  idleReleases,
  isTaken,
  recordNow,
  stateOnce,
  withBench,
  withoutReleases,
} from '../../src/app/places/handover/bench/kept.ts';
import { observedTrial } from '../../src/handover/bench/run-trial.ts';
import { figureOf, measuredWords } from '../../src/app/places/handover/bench/words.ts';
import { observeTrial } from '../../src/handover/bench/observe.ts';
import type { BenchRecord } from '../../src/handover/bench/record-schema.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import { makeModule, ModuleOnBench } from '../truth/bench-modules.ts';
import { checkedRecord } from '../truth/bench-person.ts';

const SEED = 77;
const module = makeModule(SEED, {
  candidates: 6,
  needed: 1,
  flaky: 0,
  latches: false,
  alternatives: false,
  keptAwake: false,
});
const of = { map: module.map, plan: module.plan };
const checked = checkedRecord(module);

/** As the page runs it: every trial that is asked for, its recording read, nothing moved. */
function run(): BenchRecord {
  const bench = new ModuleOnBench(module, SEED);
  let record = checked;
  for (let n = 0; n < 80; n++) {
    const { step } = stateOnce(module.map, record);
    if (step.kind !== 'trial') return record;
    const { trial } = step;
    const observed = observeTrial(module.map, bench.run(trial), observedTrial({ ...of, record, trial }, null));
    const capture = { title: `t${n}`, files: [{ name: `t${n}.log`, bytes: 1, sha256: `${n}` }] };
    const read = { trial, capture, observed };
    expect(isOfTrial(read, trial)).toBe(true);
    expect(judgedSoFar(module.map, record, read).trial.number).toBe(trial.number);
    record = withObserved(record, read, { moved: false, seen: null, at: '2026-01-01T10:00:00Z' });
    expect(trialWith(record, { capture })).toBe(trial.number);
  }
  throw new Error('the search does not end');
}

const done = run();
const needed = module.clauses[0]?.anyOf[0] as string;

describe('the record as it stands', () => {
  it('begins with what the map and the plan let trials send, which is nothing before a release', () => {
    const made = recordNow(undefined, of);
    expect(made.candidates).toEqual([]);
    expect(made.heldBack).toHaveLength(6);
  });

  it('follows the map until the first trial, and keeps what was measured and released', () => {
    const frames = module.map.frames.map((frame) => ({ ...frame, rest: null }));
    const before = recordNow(checked, { map: { ...module.map, frames }, plan: module.plan });
    expect(before.candidates).toEqual([]);
    expect(before.checklist).toEqual(checked.checklist);
    expect([...before.released, ...idleReleases(before)].sort()).toEqual([...checked.released].sort());
    const again = recordNow(before, of);
    expect(again.candidates).toEqual(checked.candidates);
    expect(again.released.toSorted()).toEqual(checked.released.toSorted());
    expect(idleReleases(again)).toEqual([]);
  });

  it('loses a release that is taken back, wherever it stands', () => {
    const [name = ''] = checked.released;
    const idle = { ...checked, idleReleases: ['elsewhere'] };
    const less = withoutReleases(
      withoutReleases(idle, (each) => each === name),
      (each) => each === 'elsewhere',
    );
    expect(less.released).toHaveLength(5);
    expect(idleReleases(recordNow(less, of))).toEqual([]);
  });

  it('stands once a trial is on record, whatever becomes of the map', () => {
    const now = recordNow(done, { ...of, plan: { ...module.plan, frames: [] } });
    expect(now).toBe(done);
  });

  it(`finds the frame that is needed (seed ${SEED}, 6 candidates)`, () => {
    const { step } = stateOnce(module.map, done);
    expect(step.kind === 'found' && step.needed).toEqual([needed]);
  });
});

describe('into the map', () => {
  it('only where the person took it, and the same map as long as nothing changes', () => {
    expect(isTaken(done)).toBe(false);
    expect(withBench(module.map, done)).toBe(module.map);
    const taken = { ...done, inMap: true };
    const map = withBench(module.map, taken);
    expect(withBench(module.map, taken)).toBe(map);
    const needs = map.frames
      .filter(({ role }) => role !== 'sent-by-part')
      .map((frame) => [frameKey(frame), frame.need.verdict]);
    expect(needs.filter(([, verdict]) => verdict === 'required')).toEqual([[needed, 'required']]);
    expect(needs.filter(([, verdict]) => verdict === 'not-required')).toHaveLength(5);
  });
});

describe('the history', () => {
  it('has a row for each frame and a column for each trial, with what was sent and what came of it', () => {
    const { rows, trials } = historyOf(done, stateOnce(module.map, done));
    expect(rows.map(({ key }) => key)).toEqual(done.candidates.map(({ key }) => key));
    expect(trials).toHaveLength(done.trials.length);
    for (const { sent, verdict } of trials) expect(verdict === 'operational').toBe(sent.has(needed));
  });
});

describe('figures as they are typed', () => {
  it.each([
    ['12.6', 12.6],
    [' 12,6 ', 12.6],
    ['-0,02', -0.02],
    ['', null],
    ['12.6 V', Number.NaN],
    ['1e3', Number.NaN],
  ])('%j', (text, figure) => expect(figureOf(text)).toEqual(figure));

  it('with unit and note', () => {
    const measured = { item: 'supply', verdict: 'ok', by: '', at: '' } as const;
    expect(measuredWords({ ...measured, value: 12.6, unit: 'V', note: 'under load' })).toBe('12.6 V, under load');
    expect(measuredWords({ ...measured, value: null, unit: 'V', note: 'seen' })).toBe('seen');
  });
});
