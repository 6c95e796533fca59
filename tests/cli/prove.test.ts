/** `prove` with what was recorded beside the capture, and the maps that it writes. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import type { MapSignal, SignalMap } from '../../src/map/schema.ts';
import type { ProofReport } from '../../src/proof/hold/types.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-prove-'));
const QUANTITY = 'pack_current';
let demo: DemoFolder;
let map: SignalMap;
let reference: string;

function readMap(path: string): SignalMap {
  const parsed = parseMap(readFileSync(path, 'utf8'), path);
  if (!parsed.ok) throw new Error(parsed.problems.map(({ message }) => message).join());
  return parsed.value;
}

const signalsOf = ({ frames }: SignalMap, name: string): MapSignal[] =>
  frames.flatMap(({ signals }) => signals.filter((signal) => signal.name === name));

/** The same map with a signal's scale multiplied; what is allowed and was seen of it as well. */
function withScale(factor: number): string {
  const frames = map.frames.map((frame) => ({
    ...frame,
    signals: frame.signals.map((signal) =>
      signal.name === QUANTITY ? { ...signal, scale: signal.scale * factor, observed: null, allowed: null } : signal,
    ),
  }));
  const path = join(folder, `scale-${factor}.json`);
  writeFileSync(path, printMap({ ...map, frames }));
  return path;
}

/** A clamp meter on a clock of its own, three readings a second, each rounded to a tenth. */
async function meter(): Promise<string> {
  const out = join(folder, 'second.csv');
  const step = ['--resample', '0.34s', '--rule', 'linear', '--wide'];
  const ended = await loomscribe([
    'decode',
    demo.second,
    '--map',
    demo.trueMap,
    '-o',
    out,
    '--signals',
    QUANTITY,
    ...step,
  ]);
  if (ended.code !== 0) throw new Error(ended.err);
  const { data, meta } = Papa.parse<Record<string, string>>(readFileSync(out, 'utf8'), { header: true });
  const column = meta.fields?.find((field) => field.includes(QUANTITY)) ?? '';
  const rows = data.filter((row) => row[column]);
  const time = meta.fields?.[0] ?? '';
  const lines = rows.map((row) => `${(Number(row[time]) + 4.2).toFixed(3)},${Number(row[column]).toFixed(1)}`);
  const path = join(folder, 'clamp.csv');
  writeFileSync(path, [`time,${QUANTITY} [A]`, ...lines].join('\n') + '\n');
  return path;
}

beforeAll(async () => {
  demo = await demoFolder();
  map = readMap(demo.trueMap);
  reference = await meter();
}, 180_000);

const verdictsOf = ({ frames }: ProofReport): string[] =>
  frames.flatMap(({ items }) => items.filter(({ name }) => name === QUANTITY).map(({ verdict }) => verdict));

describe('prove', () => {
  it('proves a scale by a reference, on whatever clock, and leaves other units unproven with the reason', async () => {
    const out = join(folder, 'proven.json');
    const said = await loomscribe(['prove', demo.second, '--map', demo.trueMap, '--reference', reference, '-o', out]);
    expect(said.code).toBe(0);
    expect(said.out).toMatch(/pack_current \[A\]: [1-9]\d* signals hold, 0 fail/);
    const proven = readMap(out);
    const [current] = signalsOf(proven, QUANTITY);
    expect(current?.standing).toBe('proven');
    const proof = current?.evidence.find(({ kind }) => kind === 'proof');
    expect(proof).toMatchObject({ capture: 'c2', held: expect.arrayContaining(['place', 'scale']) as unknown });
    expect(Number(proof?.['scaleRatio'])).toBeCloseTo(1, 2);
    expect(proven.captures.map(({ id }) => id)).toContain('c2');
    const others = proven.frames
      .flatMap(({ signals }) => signals)
      .filter(({ unit, name }) => unit && name !== QUANTITY);
    expect(others.filter(({ standing, kind }) => standing === 'proven' && kind === 'number')).toEqual([]);
    const told = others.flatMap((signal) => (signal['heldAgainst'] as { scaleUntested?: string }[] | undefined) ?? []);
    expect(told.length).toBeGreaterThan(3);
    expect(told.every(({ scaleUntested }) => scaleUntested?.includes('no reference'))).toBe(true);
    expect(proven.frames.flatMap(({ signals }) => signals).every(({ sending }) => sending === 'untested')).toBe(true);
  }, 120_000);

  it('refuses a scale that is off by a tenth where the reference speaks, and nothing else', async () => {
    const report = (await jsonOf([
      'prove',
      demo.second,
      '--map',
      withScale(1.1),
      '--reference',
      reference,
    ])) as ProofReport;
    expect(verdictsOf(report)).toContain('fails');
    const failing = report.frames.flatMap(({ items }) => items.filter(({ verdict }) => verdict === 'fails'));
    expect(failing.map(({ name }) => name)).toEqual(failing.map(() => QUANTITY));
    expect(failing.every(({ moments }) => moments.length > 0)).toBe(true);
  }, 120_000);

  it('carries a map to another vehicle: what is proven there is marked, what fails stays and is refused', async () => {
    const out = join(folder, 'carried.json');
    const asked = ['prove', demo.second, '--map', withScale(2), '--reference', reference, '-o', out, '--carry'];
    const { code, err } = await loomscribe(asked);
    expect(code).toBe(0);
    expect(err).toMatch(/carried to this vehicle: [\d,]+ items hold there, [1-9]\d* fail/);
    const [current] = signalsOf(readMap(out), QUANTITY);
    expect(current).toBeDefined();
    expect(current?.standing).not.toBe('proven');
  }, 120_000);

  it('says which quantity no signal shows, and asks for -o with --carry', async () => {
    const odd = join(folder, 'odd.csv');
    writeFileSync(odd, readFileSync(reference, 'utf8').replace(QUANTITY, 'quince_level'));
    const { code, err } = await loomscribe(['prove', demo.second, '--map', demo.trueMap, '--reference', odd]);
    expect(code).toBe(0);
    expect(err).toContain('quince_level');
    expect((await loomscribe(['prove', demo.second, '--map', demo.trueMap, '--carry'])).code).toBe(2);
  }, 120_000);
});
