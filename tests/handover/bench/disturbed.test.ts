import { describe, expect, it } from 'vitest';
import { benchedMap } from '../../../src/handover/bench/benched-map.ts';
import { trialBounds } from '../../../src/handover/bench/bounds.ts';
import { conclude } from '../../../src/handover/bench/conclusions.ts';
import { benchState } from '../../../src/handover/bench/next-step.ts';
import { withMeasurement, withWiringSure } from '../../../src/handover/bench/record.ts';
import type { BenchRecord } from '../../../src/handover/bench/record-schema.ts';
import { workingSubset } from '../../../src/handover/bench/working-subset.ts';
import type { Answer, Candidate } from '../../../src/handover/bench/answers.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { isMinimal, makeModule } from '../../truth/bench-modules.ts';
import { runBench } from '../../truth/bench-person.ts';

const module = makeModule(41, { needed: 2, disturbing: 1, candidates: 16, flaky: 0, latches: false, keptAwake: false });
const AT = '2026-01-01T10:00:00Z';
const sure = (record: BenchRecord): BenchRecord => withWiringSure(record, { by: 'Kim', at: AT, note: 'rung out' });

describe('a part that a frame disturbs', () => {
  const unsure = runBench(module, 1);

  it('ends with the wiring until somebody is sure of it, and says what then comes', () => {
    const { step } = unsure.state;
    expect(step.kind).toBe('checklist-first');
    expect(step.kind === 'checklist-first' && step.reasons.join(' ')).toContain('A frame may also disturb the part');
    expect(unsure.record.trials).toHaveLength(4);
  });

  it('tries nothing, then a set that leaves frames out, after a longer sleep', () => {
    const state = benchState(module.map, sure(unsure.record));
    expect(state.step).toMatchObject({ kind: 'trial', trial: { aim: 'nothing', sent: [], number: 5 } });
    expect(state.bounds.mostTrials).toBe(trialBounds(unsure.record.candidates).mostIfDisturbed);
  });

  it('goes on only while the whole checklist holds', () => {
    const open = { item: 'interlock' as const, value: null, unit: '', note: 'loop open', by: 'Kim', at: AT };
    const record = withMeasurement(sure(unsure.record), { ...open, verdict: 'not-ok' });
    expect(benchState(module.map, record).step.kind).toBe('checklist-first');
  });

  it('is found to work without the frame, which no map then calls required', () => {
    const { record, state } = runBench(module, 1, true);
    const [harm] = module.disturbers;
    expect(state.step.kind === 'found' && isMinimal(module, state.step.needed)).toBe(true);
    expect(state.setOut).toContain(harm?.key);
    expect(state.judged).toHaveLength(record.trials.length);
    const verdicts = new Map(conclude(record, state).map(({ key, verdict }) => [key, verdict]));
    expect(verdicts.get(harm?.key as string)).toBe('not-required');
    const required = benchedMap(module.map, record, state).frames.filter(({ need }) => need.verdict === 'required');
    expect(required.map(frameKey).sort()).toEqual(module.clauses.map(({ anyOf }) => anyOf[0] as string).sort());
  });

  it('that needs no frame at all is found with nothing sent, watched for longer', () => {
    const bare = makeModule(44, { needed: 0, disturbing: 2, candidates: 12, flaky: 0 });
    const awake = { ...bare, wakes: 'by-supply' as const };
    const { record, state } = runBench(awake, 2, true);
    expect(state.step).toMatchObject({ kind: 'found', needed: [] });
    expect(record.trials.at(-1)).toMatchObject({ aim: 'enough', sent: [] });
  });
});

describe('the set that is tried next', () => {
  const candidates = Array.from({ length: 12 }, (_, i): Candidate => ({
    key: `f${i}`,
    group: `g${Math.floor(i / 4)}`,
    likelihood: i < 4 ? 0.6 : 0.05,
  }));
  const answer = (sent: ReadonlySet<string>, works: boolean): Answer => ({ trial: 1, sent, works, watchedS: 12 });
  const all = new Set(candidates.map(({ key }) => key));

  it('keeps what is likely needed, leaves others out, and is another after it failed', () => {
    const first = workingSubset(candidates, [answer(all, false)]);
    if (first.kind !== 'ask') throw new Error(first.kind);
    for (const key of ['f0', 'f1', 'f2', 'f3']) expect(first.sent.has(key)).toBe(true);
    expect(first.sent.size).toBeLessThan(12);
    const second = workingSubset(candidates, [answer(all, false), answer(first.sent, false)]);
    expect(second.kind === 'ask' && [...second.sent]).not.toEqual([...first.sent]);
  });

  it('is repeated once it worked, and believed at the third time', () => {
    const set = new Set(['f0', 'f1']);
    const again = workingSubset(candidates, [answer(all, false), answer(set, true)]);
    expect(again).toEqual({ kind: 'ask', sent: set });
    const answers = [answer(set, true), answer(set, true), answer(set, false), answer(set, true)];
    expect(workingSubset(candidates, answers).kind).toBe('ask');
    expect(workingSubset(candidates, [...answers, answer(set, true)])).toEqual({ kind: 'works', set });
  });
});
