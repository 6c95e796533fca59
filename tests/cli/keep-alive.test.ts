/** `handover` with captures: the keep-alive plan from wakings and from a module unplugged; who the part is; what cannot be produced is said first. */
import { existsSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { parseMap } from '../../src/map/parse.ts';
import type { SignalMap } from '../../src/map/schema.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

interface Plan {
  readonly captures: readonly string[];
  readonly open: readonly string[];
  readonly frames: readonly {
    readonly id: string;
    readonly bus: string;
    readonly periodMs: number | null;
    readonly phaseMs: number | null;
    readonly order: number | null;
    readonly need: string;
    readonly firstAfterWakeMs: { readonly n: number } | null;
    readonly reasons: readonly { readonly kind: string; readonly speaksFor: string }[];
  }[];
}

let demo: DemoFolder;
let map: SignalMap;
const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-keep-alive-'));
const folder = join(scratch, 'handover');

beforeAll(async () => {
  demo = await demoFolder();
  const outcome = parseMap(readFileSync(demo.trueMap, 'utf8'), demo.trueMap);
  if (!outcome.ok) throw new Error('the true map does not read');
  map = outcome.value;
}, 120_000);

const planFrom = async (...words: readonly string[]): Promise<Plan> =>
  ((await jsonOf(['handover', ...words, '--map', demo.trueMap, '-o', folder])) as { plan: Plan }).plan;

describe('handover with captures', { timeout: 300_000 }, () => {
  it('gives phases and order after wakings that were seen, and the same in its files', async () => {
    const plan = await planFrom(join(demo.path, 'key-on.log'), '--also', join(demo.path, 'bench.log'));
    expect(plan.captures).toHaveLength(2);
    const rhythmic = plan.frames.filter(({ bus, periodMs }) => bus === 'can0' && periodMs !== null);
    expect(rhythmic.filter(({ phaseMs }) => phaseMs !== null).length).toBeGreaterThan(rhythmic.length / 2);
    const ordered = plan.frames.filter(({ order }) => order !== null);
    expect(ordered.length).toBeGreaterThan(5);
    for (const { phaseMs, periodMs } of rhythmic) expect(phaseMs ?? 0).toBeLessThan(periodMs ?? 0);
    expect(JSON.parse(readFileSync(join(folder, 'keep-alive.json'), 'utf8'))).toEqual(plan);
    expect(readFileSync(join(folder, 'keep-alive.md'), 'utf8')).toContain('2 captures');
  });

  it('says what is missed when a module is unplugged: many frames of one module, none of them shown to be required', async () => {
    // Another part than the map's: with the inverter unplugged, vehicle control is what reacts (it asks less often).
    const inverter = map.frames.find(({ name }) => name.startsWith('inverter'))?.sender?.group as string;
    const control = map.frames.find(({ name }) => name === 'drive_request')?.sender?.group as string;
    const turned = join(scratch, 'turned.json');
    const frames = map.frames.map((frame) => ({ ...frame, role: 'other' }));
    writeFileSync(turned, JSON.stringify({ ...map, frames }));
    const words = [demo.main, '--absent', `inverter=${demo.unplugged}`, '--map', turned, '--part', control];
    const { plan } = (await jsonOf(['handover', ...words, '-o', folder])) as { plan: Plan };
    const ofInverter = new Set(map.frames.filter(({ sender }) => sender?.group === inverter).map(({ id }) => id));
    const missed = plan.frames.filter(({ reasons }) =>
      reasons.some(({ kind, speaksFor }) => kind === 'absence' && speaksFor === 'needed'),
    );
    expect(missed.length).toBeGreaterThan(1);
    expect(missed.filter(({ id }) => !ofInverter.has(id))).toEqual([]);
    expect(plan.frames.filter(({ need }) => need !== 'untested')).toEqual([]);
  });

  it('stops at a sender that the map does not name, and at an absence without a capture to hold it against', async () => {
    const args = ['handover', '--map', demo.trueMap, '-o', join(scratch, 'not-made')];
    const part = await loomscribe([...args, '--part', 'nobody']);
    expect([part.code, part.out]).toEqual([1, '']);
    expect(part.err).toContain('nobody');
    expect((await loomscribe([...args, '--absent', 'inverter=x.log'])).code).toBe(2);
    expect((await loomscribe([...args, demo.main, '--absent', 'x.log'])).code).toBe(2);
    expect(existsSync(join(scratch, 'not-made'))).toBe(false);
  });
});

it('says first, on standard error, that a keyed tag cannot be produced and whose module to keep', async () => {
  const keyed = join(scratch, 'keyed.json');
  const tag = { lsb: { byte: 4, bit: 0 }, length: 32, order: 'little', method: 'mac', when: null, undetermined: [] };
  const frames = map.frames.map((frame) =>
    frame.name === 'pedals' ? { ...frame, counters: [], checksums: [{ ...tag, confidence: 0.9 }] } : frame,
  );
  writeFileSync(keyed, JSON.stringify({ ...map, frames }));
  const { code, err } = await loomscribe(['handover', '--map', keyed, '-o', folder]);
  expect(code).toBe(0);
  expect(err.replace(/\s+/g, ' ')).toMatch(/^cannot be produced: 0x\w+ carries a keyed tag.*Keep vehicle control/);
  expect(err.indexOf('cannot be produced')).toBeLessThan(err.indexOf('caution:'));
});
