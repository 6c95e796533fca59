import { describe, expect, it } from 'vitest';
import { judgedBy } from '../../../src/handover/bench/judged-by.ts';
import { judgeTrial } from '../../../src/handover/bench/judge.ts';
import { observeTrial } from '../../../src/handover/bench/observe.ts';
import type { FieldReading, TrialObservation } from '../../../src/handover/bench/record-schema.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { makeModule, ModuleOnBench, type SimulatedTrial } from '../../truth/bench-modules.ts';

const status = aFrame({
  id: '0x120',
  name: 'status',
  role: 'sent-by-part',
  signals: [
    aSignal({ name: 'mode', role: 'state', kind: 'states', lsb: { byte: 0, bit: 0 }, length: 4 }),
    aSignal({ name: 'trouble', role: 'fault', lsb: { byte: 1, bit: 0 }, length: 8 }),
  ],
});
const map = aMap([status]);
const KEY = frameKey(status);

const field = (signal: string, raw: number | null, part: Partial<FieldReading> = {}): FieldReading => ({
  frame: KEY,
  signal,
  role: signal === 'mode' ? 'state' : 'fault',
  raw,
  share: 1,
  seen: raw === null ? [] : [raw],
  sinceS: 0.5,
  beforeS: null,
  ...part,
});
const shows = (fields: FieldReading[], part: Partial<TrialObservation> = {}): TrialObservation => ({
  watchedS: 12,
  own: [{ key: KEY, frames: 600, atEnd: 120, expectedAtEnd: 120, lastS: 12 }],
  fields,
  sent: [],
  strangers: [],
  followed: null,
  codes: [],
  ...part,
});

const vehicle = {
  title: 'drive',
  own: [KEY],
  fields: [
    { frame: KEY, signal: 'mode', healthy: [3] },
    { frame: KEY, signal: 'trouble', healthy: [0] },
  ],
};
const works = shows([field('mode', 3), field('trouble', 0)]);
const alone = judgedBy(map, vehicle, { works: [], bare: [] });
const taught = judgedBy(map, vehicle, { works: [works], bare: [shows([field('mode', 1), field('trouble', 0)])] });

describe('a trial judged by what its recording shows', () => {
  it('operational where all fields are as in the vehicle', () => {
    expect(judgeTrial(works, 12, alone)).toMatchObject({ verdict: 'operational' });
  });

  it('asleep where nothing of the part is heard at the end', () => {
    const silent = shows([], { own: [{ key: KEY, frames: 40, atEnd: 0, expectedAtEnd: 120, lastS: 2.1 }] });
    expect(judgeTrial(silent, 12, alone)).toMatchObject({ verdict: 'asleep' });
    expect(judgeTrial(silent, 12, alone).reasons[0]).toContain('2.1 s');
    expect(judgeTrial(shows([], { own: [] }), 12, alone).verdict).toBe('asleep');
  });

  it('asleep where only what it sends with nothing sent is heard', () => {
    const other = 'can0/0x5C0';
    const bare = shows([], { own: [{ key: other, frames: 60, atEnd: 12, expectedAtEnd: 12, lastS: 12 }] });
    const by = judgedBy(map, vehicle, { works: [works], bare: [bare] });
    expect(judgeTrial(bare, 12, by).verdict).toBe('asleep');
  });

  it('awake with a fault where a fault field differs, and since when', () => {
    const late = shows([field('mode', 3), field('trouble', 2, { sinceS: 5.4, beforeS: 5.38 })]);
    expect(judgeTrial(late, 12, taught)).toMatchObject({ verdict: 'awake-with-fault', onsetS: 5.4 });
  });

  it('not operational in the state that it has with nothing sent', () => {
    expect(judgeTrial(shows([field('mode', 1), field('trouble', 0)]), 12, taught).verdict).toBe('awake-with-fault');
  });

  it('a fault code that fails is a fault; one that fails when it works is not', () => {
    const codes = [{ code: 'U0100', lost: true }];
    const lost = shows([field('mode', 3), field('trouble', 0)], { codes });
    expect(judgeTrial(lost, 12, taught)).toMatchObject({ verdict: 'awake-with-fault' });
    expect(judgeTrial(lost, 12, taught).reasons.join()).toContain('U0100 fails: lost communication');
    const usual = judgedBy(map, vehicle, { works: [lost], bare: [] });
    expect(judgeTrial(lost, 12, usual).verdict).toBe('operational');
  });

  it.each([
    ['too short', shows([field('mode', 3)], { watchedS: 5 }), 'ends after 5.0 s'],
    ['a frame that was not sent', shows([field('mode', 3)], { strangers: ['can0/0x99'] }), 'was not to be sent'],
    ['still changing', shows([field('mode', 3, { share: 0.6 })]), '60 %'],
    ['changed just before the end', shows([field('mode', 3, { sinceS: 11.8, beforeS: 11.7 })]), 'just before the end'],
    ['nothing that tells', shows([]), 'no state or fault field'],
    [
      'own frames missing that are usual',
      shows([field('mode', 3)], { own: [{ key: 'can0/0x121', frames: 9, atEnd: 9, expectedAtEnd: 9, lastS: 12 }] }),
      'missing',
    ],
  ])('unclear: %s', (_title, observed, words) => {
    const { verdict, reasons } = judgeTrial(observed, 12, taught);
    expect({ verdict, said: reasons.join('; ').includes(words) }).toEqual({ verdict: 'unclear', said: true });
  });

  it('unclear where a state is another than in the vehicle, and nothing on this bench has said which is right', () => {
    expect(judgeTrial(shows([field('mode', 2), field('trouble', 0)]), 12, alone).verdict).toBe('unclear');
  });

  it('a state as with nothing sent says nothing where the part is the same with everything', () => {
    const same = judgedBy(map, vehicle, { works: [works], bare: [works] });
    expect(same.fieldOf(field('mode', 3)).bare.has(3)).toBe(true);
    expect(judgeTrial(works, 12, same).verdict).toBe('unclear');
  });
});

describe('what was to be sent is held against the recording', () => {
  const module = makeModule(11, { needed: 1, candidates: 12, flaky: 0, latches: false, keptAwake: false });
  const guarded = module.map.frames.find(({ role, counters }) => role !== 'sent-by-part' && counters.length > 0);
  const key = guarded ? frameKey(guarded) : '';
  const all = module.plan.frames.map(({ frame }) => frameKey(frame));
  const periodsMs = Object.fromEntries(
    module.plan.frames.map(({ frame }) => [frameKey(frame), frame.timing.periodMs ?? 0]),
  );
  const observed = (trial: Partial<SimulatedTrial>, sent: readonly string[] = all): TrialObservation => {
    const table = new ModuleOnBench(module, 1).run({ sent: all, sleepS: 20, settleS: 12, ...trial });
    return observeTrial(module.map, table, { sent, candidates: all, stopped: null, settleS: 12, periodsMs });
  };

  it('no trouble with live counters and checksums', () => {
    const { sent, strangers, own, fields } = observed({});
    expect(sent.filter(({ trouble }) => trouble !== '')).toEqual([]);
    expect(sent).toHaveLength(12);
    expect(strangers).toEqual([]);
    expect(own.length).toBeGreaterThan(0);
    expect(fields.map(({ signal }) => signal)).toContain('mode');
  });

  it('a frozen counter, a frame that is missing, and one too many', () => {
    expect(key).not.toBe('');
    const frozen = observed({ frozen: key });
    expect(frozen.sent.filter(({ trouble }) => trouble.includes('does not count on')).map((each) => each.key)).toEqual([
      key,
    ]);
    const missing = observed({ sent: all.slice(1) });
    expect(missing.sent[0]).toMatchObject({ frames: 0, trouble: 'it is not in the recording' });
    expect(observed({}, all.slice(1)).strangers).toEqual([all[0]]);
  });

  it('a frame that fell silent', () => {
    const stopped = observed({ stopped: { key, atS: 4 } });
    expect(stopped.sent.find((each) => each.key === key)?.trouble).toMatch(/fell silent|were planned/);
  });
});
