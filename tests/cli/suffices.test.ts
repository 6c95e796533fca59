/** `draft --suffices`: whether a recording suffices, on files whole and growing; the run card opens in the workbench. */
import { spawn } from 'node:child_process';
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

/** Writes on where the file ends, a few hundred bytes at a time, lines cut anywhere; slowly enough to outlast the readers. */
const SLOW_LOGGER = `
const { appendFileSync, readFileSync, statSync } = require('node:fs');
const [from, to] = process.argv.slice(1);
const bytes = readFileSync(from);
let at = statSync(to).size;
setInterval(() => {
  appendFileSync(to, bytes.subarray(at, at + 333));
  at += 333;
}, 20);
`;

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
    expect(out).not.toMatch(/At the charging plug|On the road/);
    expect((await loomscribe([...words.slice(0, -1), 'fly'])).code).toBe(2);
  });

  it('asks a part on the bench for what can be done there, and says what it cannot show', async () => {
    const file = (name: string): string => join(demo.path, name);
    const words = ['draft', file('bench.log'), '--marks', file('marks-bench.csv'), '--suffices', '--donor', 'bench'];
    const { code, out } = await loomscribe(words);
    expect(code).toBe(0);
    expect(out).toContain('What this donor cannot show, and what to do instead\n  partners: ');
    expect(out).toContain('supply voltage lowered');
    expect(out).not.toMatch(/brake pressed|doors? opened/);
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

  it('reads a file again and again while a logger writes it, each time a whole number of lines', async () => {
    const file = join(scratch, 'live.log');
    const bytes = readFileSync(demo.cut);
    writeFileSync(file, bytes.subarray(0, bytes.length >> 2));
    const logger = spawn(process.execPath, ['-e', SLOW_LOGGER, demo.cut, file]);
    try {
      const heard: number[] = [];
      for (let turn = 0; turn < 2; turn++) {
        const { code, out, err } = await loomscribe(['draft', file, '--suffices', '--growing', '--json']);
        expect(code, err).toBe(0);
        expect(err).not.toMatch(/are not frames/);
        const read = Number(/last whole line, (\d+) bytes/.exec(err)?.[1]);
        // To a line's end, of what was written by then.
        expect(bytes[read - 1]).toBe(10);
        expect((JSON.parse(out) as Sufficiency).needs.length).toBeGreaterThan(3);
        heard.push(read);
      }
      expect(heard[0]).toBeGreaterThan(bytes.length >> 3);
      expect(heard[1]).toBeGreaterThan(heard[0] as number);
      expect(logger.exitCode).toBeNull();
    } finally {
      logger.kill();
    }
  });

  it('needs a place for the map where one is drafted', async () => {
    const { code, err } = await loomscribe(['draft', demo.cut]);
    expect([code, err]).toEqual([2, expect.stringContaining('--output MAP is needed')]);
  });
});
