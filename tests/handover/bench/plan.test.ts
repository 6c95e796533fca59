import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { parsePlanFacts, planFacts, withFacts } from '../../../src/handover/bench/plan-facts.ts';
import { keepAliveJson } from '../../../src/handover/keep-alive.ts';
import { keepAlivePlan } from '../../../src/handover/needs/plan.ts';
import type { KeepAlivePlan } from '../../../src/handover/needs/types.ts';
import { printMap } from '../../../src/map/print.ts';
import { jsonOf, loomscribe } from '../../support/command.ts';
import { makeModule } from '../../truth/bench-modules.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-bench-plan-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const module = makeModule(31, { needed: 1, candidates: 6, flaky: 0, latches: false });
const fromMap = keepAlivePlan(module.map);
/** Each frame 3 ms behind the one before, the last one seen to come first. */
const found: KeepAlivePlan = {
  ...fromMap,
  captures: ['wakings.log'],
  frames: fromMap.frames.map((planned, i, all) => ({
    ...planned,
    periodMs: 100,
    phaseMs: 3 * i,
    phaseWhy: '',
    firstAfterWakeMs: {
      midMs: 40 + 3 * (all.length - i),
      lowMs: 30 + 3 * (all.length - i),
      highMs: 50 + 3 * (all.length - i),
      n: 4,
    },
    order: all.length - i,
    reasons: [
      { kind: 'absence', capture: 'unplugged.log', speaksFor: 'needed', words: 'the part reacted in 4 of 4 wakings' },
    ],
  })),
};
const written = (plan: KeepAlivePlan): string => JSON.stringify(keepAliveJson(plan));

describe('what captures told the plan', () => {
  it('comes back from the written plan and lies over that of the map', () => {
    const read = parsePlanFacts(written(found), 'keep-alive.json');
    if (!read.ok) throw new Error(read.problems[0].message);
    expect(read.value).toEqual(planFacts(found));
    expect(withFacts(fromMap, read.value)).toEqual(found);
    expect(planFacts(fromMap)).toBeNull();
    expect(withFacts(fromMap, null)).toBe(fromMap);
  });

  it.each([
    ['no JSON', '{', 'not JSON'],
    ['another document', printMap(module.map), 'no keep-alive plan'],
    ['a version to come', written(found).replace('"version":1', '"version":2'), 'version 2'],
    ['a phase below zero', written(found).replace('"phaseMs":3', '"phaseMs":-3'), 'frames[1].phaseMs'],
    ['an identifier that is none', written(found).replace('"id":"0x', '"id":"x'), 'frames[0].id'],
  ])('%s is told with its place', (_title, text, words) => {
    const read = parsePlanFacts(text, 'keep-alive.json');
    if (read.ok) throw new Error('it was taken');
    const [{ message, place }] = read.problems;
    expect(`${place?.path ?? ''} ${message}`).toContain(words);
  });
});

describe('loomscribe bench --plan', () => {
  const [map, record, plan] = ['map.json', 'bench.json', 'keep-alive.json'].map((name) => join(folder, name)) as [
    string,
    string,
    string,
  ];
  writeFileSync(map, printMap(module.map));
  writeFileSync(plan, written(found));
  const base = ['bench', '--map', map, '--record', record];
  const released = module.map.frames.slice(2).flatMap(({ name }) => ['--release', name]);
  const measured = [
    'shaft=ok: off',
    'traction-supply=0V',
    'emergency-stop=ok: cuts',
    'supply=12V',
    'ground=0V',
  ].flatMap((text) => ['--measure', text]);
  const times = async (out: string): Promise<string> => {
    const refused = await loomscribe([...base, '--next', '-o', out]);
    const phrase = /--confirm "([^"]+)"/.exec(refused.err)?.[1] ?? '';
    await jsonOf([...base, '--next', '-o', out, '--confirm', phrase]);
    return readFileSync(join(out, 'signal_map_schedule.c'), 'utf8');
  };

  it('keeps the times in the record, and a later trial repeats them without the plan', async () => {
    await jsonOf([...base, ...released, ...measured, '--measure', 'termination=60 ohm', '--by', 'Kim']);
    const before = await times(join(folder, 'without'));
    await jsonOf([...base, '--plan', plan]);
    const { plan: kept, checklist } = JSON.parse(readFileSync(record, 'utf8')) as {
      plan: { captures: string[]; frames: unknown[] };
      checklist: unknown[];
    };
    expect(kept.captures).toEqual(['wakings.log']);
    expect(kept.frames).toHaveLength(6);
    expect(checklist).toHaveLength(6);
    const withPlan = await times(join(folder, 'with'));
    expect(withPlan).not.toBe(before);
    // The frame that was seen first after a waking is due first, at the median of its wakings: 43 ms.
    expect(withPlan).toContain('43000');
    expect(readFileSync(join(folder, 'with', 'trial-1.md'), 'utf8')).toContain('those found in wakings');
    await jsonOf([...base, '--plan', plan]);
    expect(await times(join(folder, 'again'))).toBe(withPlan);
  });

  it('refuses another plan once trials were run, and says what a bad one lacks', async () => {
    const silent = JSON.parse(readFileSync(record, 'utf8')) as { trials: unknown[] };
    silent.trials.push({
      ...{ number: 1, kind: 'set', aim: 'everything', sent: [], sleepS: 20, settleS: 12, at: '2026-01-01T10:00:00Z' },
      ...{ capture: null, observed: null },
    });
    writeFileSync(record, JSON.stringify(silent));
    const other = join(folder, 'other.json');
    writeFileSync(other, written({ ...found, captures: ['later.log'] }));
    const refused = await loomscribe([...base, '--plan', other]);
    expect(refused.code).toBe(1);
    expect(refused.err).toContain('wakings.log');
    writeFileSync(other, written(fromMap));
    expect((await loomscribe([...base, '--plan', other])).err).toContain('from the map alone');
    expect((await loomscribe([...base, '--plan', map])).err).toContain('no keep-alive plan');
  });
});
