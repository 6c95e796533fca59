import { describe, expect, it } from 'vitest';
import { benchedMap } from '../../../src/handover/bench/benched-map.ts';
import { CHECK_ITEMS } from '../../../src/handover/bench/checklist-items.ts';
import { checklistState, judgedMeasurement, whyNotTaken } from '../../../src/handover/bench/checklist.ts';
import { conclude } from '../../../src/handover/bench/conclusions.ts';
import { benchState } from '../../../src/handover/bench/next-step.ts';
import { observeTrial } from '../../../src/handover/bench/observe.ts';
import { stopTrial, varyTrial } from '../../../src/handover/bench/own-trials.ts';
import {
  newBench,
  parseBench,
  printBench,
  withMeasurement,
  withSetAside,
  withTrial,
} from '../../../src/handover/bench/record.ts';
import type { BenchRecord, TrialObservation } from '../../../src/handover/bench/record-schema.ts';
import { measuredTimeouts } from '../../../src/handover/bench/timeouts.ts';
import { exportTrial, trialFiles } from '../../../src/handover/bench/trial-files.ts';
import { shownHarmless } from '../../../src/handover/sending/harmless.ts';
import { emptyDossier } from '../../../src/jobs/dossier.ts';
import { parseDossier, printDossier } from '../../../src/jobs/dossier-file.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { signalMapSchema } from '../../../src/map/schema.ts';
import { requireGcc, STRICT, workplace } from '../../support/compile-c.ts';
import { makeModule, ModuleOnBench, truly } from '../../truth/bench-modules.ts';
import { checkedRecord, runBench, runTrial } from '../../truth/bench-person.ts';

const AT = '2026-01-01T10:00:00Z';
const module = makeModule(21, {
  needed: 2,
  candidates: 10,
  flaky: 0,
  latches: false,
  alternatives: false,
  keptAwake: false,
});
const names = module.plan.frames.map(({ frame }) => frame.name);
const begun = (): BenchRecord => {
  const made = newBench(module.map, module.plan, { release: names });
  if (!made.ok) throw new Error(made.problems[0].message);
  return made.value;
};
const measured = (item: (typeof CHECK_ITEMS)[number]['name'], value: number | null, note = 'seen') =>
  judgedMeasurement({ item, value, unit: '', note, by: 'A. Tester', at: AT });

describe('the wiring checklist', () => {
  it('forbids a trial until every safety item is answered, and only those', () => {
    const { step } = benchState(module.map, begun());
    expect(step.kind).toBe('measure');
    const safe = CHECK_ITEMS.filter(({ isSafety }) => isSafety);
    expect(safe.map(({ name }) => name)).toEqual([
      'shaft',
      'traction-supply',
      'emergency-stop',
      'supply',
      'ground',
      'termination',
    ]);
    const answered = safe.reduce(
      (record, { name, range }) => withMeasurement(record, measured(name, range ? (range.low + range.high) / 2 : null)),
      begun(),
    );
    const next = benchState(module.map, answered).step;
    expect(next.kind === 'trial' && next.warns).toHaveLength(4);
  });

  it('a value outside its range is not ok whatever is said, and the newest answer stands above the older', () => {
    const wrong = judgedMeasurement({
      item: 'termination',
      verdict: 'ok',
      value: 120,
      unit: 'ohm',
      note: '',
      by: 'A',
      at: AT,
    });
    expect(wrong.verdict).toBe('not-ok');
    const record = [wrong, measured('termination', 61)].reduce(withMeasurement, begun());
    const state = checklistState(record).items.find(({ item }) => item.name === 'termination');
    expect(state).toMatchObject({ state: 'ok', before: [{ value: 120 }] });
  });

  it.each([
    [{ item: 'supply', value: null, note: 'fine', by: 'A' }, 'measured value'],
    [{ item: 'shaft', value: null, note: '', by: 'A' }, 'what was seen'],
    [{ item: 'shaft', value: null, note: 'free', by: ' ' }, 'who measured'],
    [{ item: 'crash-line', value: null, note: '', by: 'A', verdict: 'not-applicable' }, 'why it does not apply'],
  ] as const)('%o is not taken', (given, words) => {
    expect(whyNotTaken({ unit: '', at: AT, ...given })).toContain(words);
  });
});

describe('the record', () => {
  it('survives its file and a dossier, unknown keys and all', () => {
    const record = { ...checkedRecord(module), later: { kept: true } } as BenchRecord;
    const read = parseBench(printBench(record), 'bench.json');
    expect(read.ok && read.value).toEqual(JSON.parse(JSON.stringify(record)));
    const dossier = parseDossier(printDossier({ ...emptyDossier(), bench: record }), 'd.json');
    expect(dossier.ok && dossier.value.bench).toEqual(JSON.parse(JSON.stringify(record)));
  });

  it.each([
    ['{', 'not-json'],
    ['{"format":"loomscribe.dossier"}', 'not-a-bench-record'],
    ['{"format":"loomscribe.bench","version":2}', 'unknown-version'],
    ['{"format":"loomscribe.bench","version":1}', 'not-in-schema'],
  ])('%s is refused as %s', (text, code) => {
    const read = parseBench(text, 'bench.json');
    expect(!read.ok && read.problems[0].code).toBe(code);
  });

  it('holds back what nobody released, with the reason', () => {
    const made = newBench(module.map, module.plan, { release: names.slice(0, 3) });
    if (!made.ok) throw new Error();
    expect(made.value.candidates).toHaveLength(3);
    expect(made.value.heldBack).toHaveLength(7);
    expect(made.value.heldBack[0]?.why).toContain('release it by name');
    expect(newBench(module.map, module.plan, { release: ['nobody'] }).ok).toBe(false);
  });

  it('does not count a fault that stayed from the trial before, once a longer sleep cleared it', () => {
    const latching = { ...module, latchS: 50 };
    const { record, state } = runBench(latching, 3);
    expect(state.counting.sleepS).toBeGreaterThanOrEqual(50);
    expect(state.counting.leftOut.some(({ why }) => why.includes('stayed from the trial before'))).toBe(true);
    expect(record.trials.length).toBe(state.judged.length);
    expect(state.step.kind === 'found' && truly(module, state.step.needed)).toBe(true);
  });

  it('a trial set aside stays on record and does not count', () => {
    const { record } = runBench(module, 4);
    const aside = withSetAside(record, [1], 'the bench supply dipped');
    expect(aside.trials).toHaveLength(record.trials.length);
    expect(benchState(module.map, aside).counting.answers.some(({ trial }) => trial === 1)).toBe(false);
  });
});

describe('what the bench has shown', () => {
  const run = runBench(module, 5);
  const { step } = run.state;
  const needed = step.kind === 'found' ? step.needed : [];

  it('the true set, in words for each frame', () => {
    expect([...needed].sort()).toEqual(module.clauses.map(({ anyOf }) => anyOf[0]).sort());
    const conclusions = conclude(run.record, run.state);
    expect(
      conclusions
        .filter(({ verdict }) => verdict === 'required')
        .map(({ key }) => key)
        .sort(),
    ).toEqual([...needed].sort());
    expect(conclusions.every(({ verdict }) => verdict !== 'untested')).toBe(true);
    expect(conclusions.every(({ trials }) => trials.length > 0)).toBe(true);
  });

  it('before the search ends, what is not known is untested', () => {
    const early = { ...run.record, trials: run.record.trials.slice(0, 4) };
    const conclusions = conclude(early, benchState(module.map, early));
    expect(conclusions.some(({ verdict }) => verdict === 'untested')).toBe(true);
    expect(conclusions.filter(({ key, verdict }) => verdict === 'required' && !needed.includes(key))).toEqual([]);
  });

  it('goes into the map: need by bench with its figures; no signal is proven by having been sent at rest', () => {
    const map = benchedMap(module.map, run.record, run.state);
    expect(signalMapSchema.safeParse(map).success).toBe(true);
    for (const frame of map.frames.filter(({ role }) => role !== 'sent-by-part')) {
      const verdict = needed.includes(frameKey(frame)) ? 'required' : 'not-required';
      expect(frame.need).toMatchObject({ verdict, how: 'bench', evidence: [{ kind: 'bench' }] });
      expect(frame.signals.some(({ sending }) => sending === 'proven')).toBe(false);
      expect(shownHarmless(frame)).toBe(false);
    }
    expect(benchedMap(map, run.record)).toEqual(map);
  });

  it('a frame is shown harmless only by trials of which somebody said that nothing moved', () => {
    const told = { ...run.record, trials: run.record.trials.map((trial) => ({ ...trial, moved: false })) };
    const [key = ''] = needed;
    const frameIn = (record: BenchRecord) =>
      benchedMap(module.map, record).frames.find((frame) => frameKey(frame) === key) as never;
    expect(shownHarmless(frameIn(told))).toBe(true);
    const moved = { ...told, trials: told.trials.map((trial, i) => (i === 0 ? { ...trial, moved: true } : trial)) };
    expect(shownHarmless(frameIn(moved))).toBe(false);
  });

  it('times how long the silence of a frame is borne', () => {
    const [key = ''] = needed;
    const clause = module.clauses.find(({ anyOf }) => anyOf.includes(key));
    let { record } = run;
    for (let n = 0; n < 3; n++) {
      const planned = stopTrial(record, benchState(module.map, record), key);
      if (!planned.ok || !planned.value.stopped) throw new Error('no stop trial');
      const { sent, settleS, sleepS, stopped } = planned.value;
      const table = new ModuleOnBench(module, 50 + n).run({ sent, sleepS, settleS, stopped });
      const periodsMs = Object.fromEntries(
        module.plan.frames.map(({ frame }) => [frameKey(frame), frame.timing.periodMs ?? 0]),
      );
      const candidates = record.candidates.map((each) => each.key);
      const observed = observeTrial(module.map, table, { sent, candidates, stopped, settleS, periodsMs });
      record = withTrial(record, {
        kind: 'stop',
        aim: 'stop',
        sent,
        stopped,
        sleepS,
        settleS,
        at: AT,
        capture: null,
        observed,
      });
    }
    const [timeout] = measuredTimeouts(benchState(module.map, record).judged);
    const trueMs = 1000 * (clause?.debounceS ?? 0);
    expect(timeout?.trials).toHaveLength(3);
    // Between the last frame heard and the stop lies up to a period; the part tells every 20 ms.
    const periodMs = module.map.frames.find((frame) => frameKey(frame) === key)?.timing.periodMs ?? 0;
    expect(timeout?.lowMs).toBeGreaterThan(trueMs - 25);
    expect(timeout?.highMs).toBeLessThan(trueMs + periodMs + 25);
    const timed = benchedMap(module.map, record).frames.find((frame) => frameKey(frame) === key);
    expect(timed?.timing).toMatchObject({ timeoutFrom: 'bench', timeoutMs: timeout?.lowMs });
  });

  it('proves a signal only where a number of the part followed it, apart and again', () => {
    const [key = ''] = needed;
    const frame = module.map.frames.find((each) => frameKey(each) === key);
    const signal = { name: 'wish', lsb: { byte: 0, bit: 0 }, length: 4 };
    const plain = module.map.frames.find(({ role }) => role === 'sent-by-part')?.signals[0];
    const map = {
      ...module.map,
      frames: module.map.frames.map((each) =>
        each === frame
          ? { ...each, signals: [{ ...plain, ...signal, kind: 'number', role: 'unknown', states: {} } as never] }
          : each,
      ),
    };
    const base = run.record.trials.find(({ aim }) => aim === 'enough')?.observed as TrialObservation;
    const withValues = (pairs: readonly (readonly [number, number])[]): BenchRecord =>
      pairs.reduce((record, [value, followed]) => {
        const planned = varyTrial(map, record, benchState(map, record), { frame: key, signal: 'wish', value });
        if (!planned.ok) throw new Error(planned.problems[0].message);
        const { sent, sleepS, settleS, value: given } = planned.value;
        const after = {
          frame: 'can0/0x120',
          signal: 'mode',
          middle: followed,
          low: followed - 1,
          high: followed + 1,
          n: 50,
        };
        const observed = { ...base, watchedS: settleS, followed: after };
        const values = given ? [given] : [];
        return withTrial(record, {
          kind: 'vary',
          aim: 'vary',
          sent,
          values,
          sleepS,
          settleS,
          at: AT,
          capture: null,
          observed,
        });
      }, run.record);
    const isProven = (record: BenchRecord): boolean =>
      benchedMap(map, record).frames.some(({ signals }) => signals.some(({ sending }) => sending === 'proven'));
    expect(
      isProven(
        withValues([
          [1, 10],
          [5, 50],
          [1, 10],
        ]),
      ),
    ).toBe(true);
    expect(
      isProven(
        withValues([
          [1, 10],
          [5, 50],
        ]),
      ),
    ).toBe(false);
    expect(
      isProven(
        withValues([
          [1, 10],
          [5, 11],
          [1, 10],
        ]),
      ),
    ).toBe(false);
    expect(
      isProven(
        withValues([
          [1, 10],
          [5, 50],
          [1, 30],
        ]),
      ),
    ).toBe(false);
  });
});

describe('the files of a trial', () => {
  const record = checkedRecord(module);
  const { step } = benchState(module.map, record);

  it('are written only for the phrase that names what is sent, and compile', { timeout: 60_000 }, () => {
    requireGcc();
    if (step.kind !== 'trial') throw new Error(step.kind);
    const made = exportTrial(module.map, module.plan, record, step.trial);
    if (!made.ok) throw new Error(made.problems[0].message);
    expect(made.value.phrase).toContain('send ');
    expect(trialFiles(module.map, record, made.value, 'yes')).toBeNull();
    const files = trialFiles(module.map, record, made.value, made.value.phrase) ?? [];
    expect(files.map(({ name }) => name)).toContain('signal_map_schedule.c');
    const words = files.find(({ name }) => name === 'trial-1.md')?.text ?? '';
    expect(words).toContain('High voltage');
    expect(words).toContain('at least 20 s');
    const place = workplace();
    try {
      files.forEach(({ name, text }) => place.write(name, text));
      for (const name of ['signal_map.c', 'signal_map_schedule.c'])
        place.compile('gcc', ['-std=c99', ...STRICT, '-c', name, '-o', `${name}.o`]);
    } finally {
      place.remove();
    }
  });

  it('of a trial that sends nothing are words alone, and nothing is to be confirmed', () => {
    const one = runTrial(new ModuleOnBench(module, 1), record, step.kind === 'trial' ? step.trial : (null as never));
    const next = benchState(module.map, one).step;
    if (next.kind !== 'trial') throw new Error(next.kind);
    expect(next.trial).toMatchObject({ aim: 'nothing', sent: [] });
    const made = exportTrial(module.map, module.plan, one, next.trial);
    const files = made.ok ? trialFiles(module.map, one, made.value, '') : null;
    expect(files?.map(({ name }) => name)).toEqual(['trial-2.md']);
  });

  it('are refused where a frame of the set may not be sent any more', () => {
    if (step.kind !== 'trial') throw new Error(step.kind);
    const made = exportTrial(module.map, module.plan, { ...record, released: names.slice(1) }, step.trial);
    expect(!made.ok && made.problems[0].code).toBe('trial-not-sendable');
  });
});
