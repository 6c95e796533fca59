/** `draft --suffices`: whether a recording suffices, on files whole and growing; the run card opens in the workbench. */
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { beforeAll, describe, expect, it } from 'vitest';
import { planOf } from '../../src/app/places/marks/run/plan.ts';
import { parseDossier } from '../../src/jobs/dossier-file.ts';
import type { Sufficiency } from '../../src/proof/suffices/types.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

let demo: DemoFolder;
const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-suffices-'));
beforeAll(async () => {
  demo = await demoFolder();
}, 120_000);

describe('draft --suffices', () => {
  it('says what is short, and writes run cards that the workbench reads back step by step', async () => {
    const card = join(scratch, 'card.json');
    const words = ['draft', demo.cut, '--marks', demo.marks, '--suffices', '--run-card', card];
    const answer = (await jsonOf(words)) as Sufficiency;
    const handbrake = answer.needs.find(({ key }) => key === 'repetitions handbrake pulled');
    expect(handbrake).toMatchObject({ verdict: 'short', figures: { times: 1 } });
    for (const [place, path] of [card, join(scratch, 'card-2.json')].entries()) {
      const dossier = parseDossier(readFileSync(path, 'utf8'), path);
      expect(dossier.ok && planOf(dossier.value)).toEqual(answer.next[place]?.card);
    }
  });

  it('asks a donor that cannot drive for no drive', async () => {
    const words = ['draft', demo.cut, '--marks', demo.marks, '--suffices', '--donor', 'key-on'];
    const { code, out } = await loomscribe(words);
    expect(code).toBe(0);
    expect(out).toMatch(/^Before you cut it up: Do not cut yet/);
    expect(out).not.toMatch(/charging plug|On the road/);
    expect((await loomscribe([...words.slice(0, -1), 'fly'])).code).toBe(2);
  });

  it('reads a file that still grows up to its last whole line, and says so', async () => {
    const file = join(scratch, 'growing.log');
    const bytes = readFileSync(demo.cut);
    const cut = bytes.subarray(0, bytes.lastIndexOf(10, Math.floor(bytes.length / 2)) + 21);
    writeFileSync(file, cut);
    const { code, err } = await loomscribe(['draft', file, '--suffices', '--growing', '--json']);
    expect(code).toBe(0);
    expect(err).toContain(`read to its last whole line, ${cut.length - 20} bytes`);
    expect(err).not.toMatch(/are not frames/);
    writeFileSync(`${file}.gz`, gzipSync(cut));
    const compressed = await loomscribe(['draft', `${file}.gz`, '--suffices', '--growing']);
    expect([compressed.code, compressed.err]).toEqual([1, expect.stringContaining('only once it is whole')]);
  });

  it('needs a place for the map where one is drafted', async () => {
    const { code, err } = await loomscribe(['draft', demo.cut]);
    expect([code, err]).toEqual([2, expect.stringContaining('--output MAP is needed')]);
  });
});
