/** Names and moves of a dossier in what the command line says: letters stay, a name and a hand's word reach the survey and the map. */
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { emptyDossier } from '../../src/jobs/dossier.ts';
import { createRandom } from '../../src/kit/random.ts';
import { loomscribe } from '../support/command.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-senders-'));
const random = createRandom('senders by hand');

/** Two modules of an invented bus, 60 ppm apart, three identifiers each, 90 s. */
function log(): string {
  const rows: [number, string][] = [];
  const modules = [
    { ppm: 30, ids: ['100', '110', '120'] },
    { ppm: -30, ids: ['200', '210', '220'] },
  ];
  for (const { ppm, ids } of modules) {
    const start = random.next() * 0.01;
    ids.forEach((id, place) => {
      const periodS = [0.01, 0.02, 0.05][place] as number;
      for (let n = 0; n * periodS < 90; n++) {
        const atS = (start + 0.0004 * place + n * periodS) * (1 - ppm * 1e-6) + Math.abs(random.normal()) * 2e-5;
        rows.push([atS, `can0 ${id}#${(n % 256).toString(16).padStart(2, '0').toUpperCase()}00`]);
      }
    });
  }
  return rows
    .sort(([a], [b]) => a - b)
    .map(([atS, text]) => `(${(1_700_000_000 + atS).toFixed(6)}) ${text}\n`)
    .join('');
}

const capture = join(folder, 'bench.log');
writeFileSync(capture, log());

const member = (id: string): { bus: string; id: string; extended: boolean } => ({ bus: 'can0', id, extended: false });
function dossierFile(name: string, part: object): string {
  const path = join(folder, name);
  const files = [{ name: 'bench.log', bytes: 1, sha256: '' }];
  const entry = { id: 'c1', title: 'bench', role: 'main', files };
  writeFileSync(path, JSON.stringify({ ...emptyDossier(), captures: [entry], ...part }));
  return path;
}
interface Told {
  readonly frames: readonly {
    readonly id: string;
    readonly group: string | null;
    readonly groupWhy: string;
    readonly sender: { readonly group: string; readonly name: string; readonly byHand?: boolean } | null;
  }[];
  readonly groups: readonly { readonly group: string; readonly name?: string; readonly ids: readonly string[] }[];
}
async function told(words: readonly string[]): Promise<Told> {
  const { code, out, err } = await loomscribe(words);
  expect({ code, err: code === 0 ? '' : err }).toEqual({ code: 0, err: '' });
  return JSON.parse(out) as Told;
}

describe('a dossier with senders', () => {
  const path = dossierFile('hand.dossier.json', {
    senders: [
      { group: 'A', name: '', members: [] },
      { group: 'C', name: 'pump', members: [member('0x200'), member('0x210')] },
    ],
    senderMoves: [{ ...member('0x120'), group: 'C' }],
  });

  it('keeps the letters it gave, and gives none of them again', async () => {
    const plain = await told(['survey', capture, '--json']);
    expect(plain.groups.map(({ group, ids }) => [group, ids])).toEqual([
      ['A', ['0x100', '0x110', '0x120']],
      ['B', ['0x200', '0x210', '0x220']],
    ]);
    const { groups } = await told(['survey', '--dossier', path, '--json']);
    expect(groups.map(({ group, name, ids }) => [group, name, ids])).toEqual([
      ['B', undefined, ['0x100', '0x110']],
      ['C', 'pump', ['0x200', '0x210', '0x220', '0x120']],
    ]);
  });

  it('says that a move is by hand, and that timing disagrees', async () => {
    const { frames } = await told(['survey', '--dossier', path, '--json']);
    expect(frames.find(({ id }) => id === '0x120')).toMatchObject({ group: 'C' });
    expect(frames.find(({ id }) => id === '0x120')?.groupWhy).toMatch(
      /^Put into C by hand; timing disagrees: it says B/,
    );
    const { out } = await loomscribe(['survey', '--dossier', path]);
    expect(out).toContain('senders: C pump');
    expect(out).toMatch(/0x120 .* C by hand/);
  });

  it('carries names and moves into the map', async () => {
    const { frames } = await told(['draft', '--dossier', path, '-o', '-']);
    const senderOf = (wanted: string): unknown => frames.find(({ id }) => id === wanted)?.sender;
    expect(senderOf('0x200')).toMatchObject({ group: 'C', name: 'pump' });
    expect(senderOf('0x120')).toEqual({ group: 'C', name: 'pump', confidence: 1, byHand: true });
    expect(senderOf('0x100')).toMatchObject({ group: 'B', name: 'sender B' });
  });

  it('that is older, without senders, opens as before', async () => {
    const { senders: _senders, senderMoves: _moves, ...older } = emptyDossier();
    const files = [{ name: 'bench.log', bytes: 1, sha256: '' }];
    const old = join(folder, 'old.dossier.json');
    writeFileSync(old, JSON.stringify({ ...older, captures: [{ id: 'c1', title: 'bench', role: 'main', files }] }));
    expect((await told(['survey', '--dossier', old, '--json'])).groups.length).toBe(2);
  });
});
