/** The verb that takes two maps. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import type { MapSignal } from '../../src/map/schema.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-merge-'));

function mapFile(name: string, signals: readonly Partial<MapSignal>[]): string {
  const place = { lsb: { byte: 0, bit: 0 }, length: 8 };
  const path = join(folder, name);
  writeFileSync(path, printMap(aMap([aFrame({ signals: signals.map((part) => aSignal({ ...place, ...part })) })])));
  return path;
}

const mine = mapFile('mine.json', [{ name: 'level', unit: '%', scale: 0.5 }]);
const hers = mapFile('hers.json', [
  { name: 'level', unit: 'V', scale: 0.1 },
  { name: 'heat', lsb: { byte: 2, bit: 0 } },
]);

describe('merge', () => {
  it('writes one map and tells every conflict with both versions', async () => {
    const out = join(folder, 'made', 'ours.json');
    const { code, out: said } = await loomscribe(['merge', mine, hers, '-o', out]);
    expect(code).toBe(0);
    expect(said).toContain('1 only in the second, 1 in conflict (1 undecided)');
    expect(said).toMatch(/first .*scale 0\.5.*unit %/);
    expect(said).toMatch(/second .*scale 0\.1.*unit V/);
    const merged = parseMap(readFileSync(out, 'utf8'), out);
    expect(merged.ok && merged.value.frames[0]?.signals.map(({ name }) => name)).toEqual(['level', 'heat']);
    expect(merged.ok && merged.value.frames[0]?.['setAside']).toHaveLength(1);
  });

  it('writes a map merged with itself as it was', async () => {
    const out = join(folder, 'same.json');
    const report = await jsonOf(['merge', hers, hers, '-o', out]);
    expect((report as { items: { outcome: string }[] }).items.every(({ outcome }) => outcome === 'equal')).toBe(true);
    expect(readFileSync(out, 'utf8')).toBe(readFileSync(hers, 'utf8'));
  });

  it('ends with 2 on one map, and with 1 on what is no map', async () => {
    expect((await loomscribe(['merge', mine, '-o', join(folder, 'x.json')])).code).toBe(2);
    const odd = join(folder, 'odd.json');
    writeFileSync(odd, '{}');
    expect((await loomscribe(['merge', mine, odd, '-o', join(folder, 'x.json')])).code).toBe(1);
  });
});
