import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { payloadAt, type FrameTable } from '../../../src/frames/table.ts';
import { displayId } from '../../../src/kit/units.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import { parseMap } from '../../../src/map/parse.ts';
import { printMap } from '../../../src/map/print.ts';
import { jsonOf, loomscribe } from '../../support/command.ts';
import { makeModule, ModuleOnBench } from '../../truth/bench-modules.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-bench-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const module = makeModule(31, {
  needed: 1,
  candidates: 8,
  flaky: 0,
  latches: false,
  alternatives: false,
  keptAwake: false,
});
const bench = new ModuleOnBench(module, 1);
const [map, record] = [join(folder, 'map.json'), join(folder, 'bench.json')];
writeFileSync(map, printMap(module.map));
const base = ['bench', '--map', map, '--record', record];
const released = module.plan.frames.flatMap(({ frame }) => ['--release', frame.name]);
const measured = [
  'shaft=ok: uncoupled, guard on',
  'traction-supply=0V: absent',
  'emergency-stop=ok: cuts both supplies',
  'supply=12.6V',
  'ground=0.02V',
  'termination=60 ohm',
  'crash-line=not-applicable: has none',
].flatMap((text) => ['--measure', text]);

interface Answer {
  readonly step: {
    readonly kind: string;
    readonly needed?: string[];
    readonly trial?: { number: number; sent: string[]; sleepS: number; settleS: number };
  };
  readonly bounds: { readonly mostTrials: number };
  readonly trials: readonly { readonly verdict: string }[];
  readonly conclusions: readonly { readonly key: string; readonly verdict: string }[];
  readonly files: readonly string[];
}
const asked = (args: readonly string[]): Promise<Answer> => jsonOf([...base, ...args]) as Promise<Answer>;

/** As a logger writes it. */
function logText(table: FrameTable): string {
  const rows = table.streams.flatMap((stream) =>
    Array.from({ length: stream.count }, (_, row) => {
      const atS = 1764500000 + (stream.timeUs[row] as number) / 1e6;
      const payload = formatPayload(payloadAt(stream, row)).replaceAll(' ', '');
      return [atS, `(${atS.toFixed(6)}) can0 ${displayId(stream.id, stream.extended).slice(2)}#${payload}`] as const;
    }),
  );
  return rows
    .sort((a, b) => a[0] - b[0])
    .map(([, line]) => `${line}\n`)
    .join('');
}

describe('loomscribe bench', () => {
  it('begins with the checklist and plans no trial before it', async () => {
    const { step, bounds } = await asked(released);
    expect(step.kind).toBe('measure');
    expect(bounds.mostTrials).toBeGreaterThan(8);
    const { code, err } = await loomscribe([...base, '--next', '-o', join(folder, 'early')]);
    expect(code).toBe(1);
    expect(err).toContain('Measure and answer first');
    expect(existsSync(join(folder, 'early'))).toBe(false);
  });

  it.each([
    ['no name', ['--measure', 'supply=12.6V'], 'who measured'],
    ['an item that is none', ['--measure', 'colour=blue', '--by', 'Kim'], 'termination'],
    ['a capture without its trial', ['x.log'], '--trial N'],
    ['being sure of the wiring without a name', ['--wiring-sure', 'rung out'], '--by'],
    ['movement by another word', ['--trial', '1', '--silent', '--moved', 'maybe'], 'yes or no'],
  ])('%s is wrong usage or cannot be done, and nothing is written', async (_title, args, words) => {
    const before = readFileSync(record, 'utf8');
    const { code, err } = await loomscribe([...base, ...args]);
    expect(code).toBeGreaterThan(0);
    expect(err).toContain(words);
    expect(readFileSync(record, 'utf8')).toBe(before);
  });

  it('takes what was measured and keeps it', async () => {
    const { step } = await asked([...measured, '--by', 'Kim']);
    expect(step).toMatchObject({ kind: 'trial', trial: { number: 1 } });
    const { checklist } = JSON.parse(readFileSync(record, 'utf8')) as { checklist: { item: string; by: string }[] };
    expect(checklist).toHaveLength(7);
    expect(checklist[3]).toMatchObject({ item: 'supply', value: 12.6, unit: 'V', verdict: 'ok', by: 'Kim' });
  });

  it('writes a trial only for the phrase that the cautions end with', async () => {
    const out = join(folder, 'trial-1');
    const refused = await loomscribe([...base, '--next', '-o', out]);
    expect(refused.code).toBe(1);
    expect(refused.err).toContain('High voltage');
    expect(existsSync(out)).toBe(false);
    const phrase = /--confirm "([^"]+)"/.exec(refused.err)?.[1] ?? '';
    const { files } = await asked(['--next', '-o', out, '--confirm', phrase]);
    expect(files.some((name) => name.endsWith('signal_map_schedule.c'))).toBe(true);
    expect(readFileSync(join(out, 'trial-1.md'), 'utf8')).toContain('emergency stop');
  });

  it(
    'judges recordings until the frame that is needed remains, and writes it into the map',
    { timeout: 240_000 },
    async () => {
      let answer = await asked([]);
      for (let n = 0; n < 60 && answer.step.trial; n++) {
        const { number, sent, sleepS, settleS } = answer.step.trial;
        const table = bench.run({ sent, sleepS, settleS });
        const log = join(folder, `trial-${number}.log`);
        writeFileSync(log, logText(table));
        const heard = table.frameCount > 0 ? [log] : ['--silent'];
        answer = await asked(['--trial', String(number), ...heard, '--moved', 'no']);
      }
      const needed = module.clauses.map(({ anyOf }) => anyOf[0]);
      expect(answer.step).toMatchObject({ kind: 'found', needed });
      expect(answer.trials.length).toBeLessThanOrEqual(answer.bounds.mostTrials);
      const out = join(folder, 'benched.json');
      await asked(['--into', out]);
      const read = parseMap(readFileSync(out, 'utf8'), 'benched.json');
      const required = read.ok ? read.value.frames.filter(({ need }) => need.verdict === 'required') : [];
      expect(required.map(({ bus, id }) => `${bus}/${id}`)).toEqual(needed);
      const { trials } = JSON.parse(readFileSync(record, 'utf8')) as {
        trials: { capture: { files: { sha256: string }[] } | null }[];
      };
      expect(trials[0]?.capture?.files[0]?.sha256).toMatch(/^[0-9a-f]{64}$/);
    },
  );

  it('says in words where it stands', async () => {
    const { code, out } = await loomscribe(base);
    expect(code).toBe(0);
    expect(out).toContain('wiring checklist');
    expect(out).toContain('A minimal set of 1');
  });
});
