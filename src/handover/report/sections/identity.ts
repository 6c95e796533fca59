/** What the part is, where it comes from, and the recordings that everything here rests on. */
import { grouped } from '../../../kit/figures.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import type { SignalMap, Standing } from '../../../map/schema.ts';
import type { Context } from '../context.ts';
import { fullCell, inferred, mono, type Block, type Cell, type Section } from '../document.ts';

const STANDINGS: readonly (readonly [Standing, string])[] = [
  ['proven', 'held on a recording that it was not made from'],
  ['supported', 'two kinds of evidence agree'],
  ['guess', 'it fits, and could be chance'],
];

const orNone = (text: string): Cell => text || [inferred('not told')];

function recordingRows({ captures }: SignalMap): Cell[][] {
  return captures.flatMap(({ id, title, files }) =>
    (files.length > 0 ? files : [{ name: '', bytes: 0, sha256: '' }]).map(({ name, bytes, sha256 }, index): Cell[] => [
      index === 0 ? [mono(id)] : '',
      index === 0 ? title : '',
      [mono(name)],
      files.length > 0 ? grouped(bytes) : '',
      sha256 ? [mono(sha256)] : [inferred('not told')],
    ]),
  );
}

export function standingTable(map: SignalMap): Block {
  const signals = map.frames.flatMap((frame) => frame.signals);
  return {
    kind: 'table',
    head: ['standing', { name: 'signals', align: 'right' }, { name: 'means', wide: true }],
    rows: STANDINGS.map(([standing, means]) => [
      { ...fullCell(standing), mark: standing },
      String(signals.filter((signal) => signal.standing === standing).length),
      means,
    ]),
  };
}

export function identitySection({ map }: Context): Section {
  const { part, made, requires, frames } = map;
  const guards = frames.reduce((sum, { counters, checksums }) => sum + counters.length + checksums.length, 0);
  const signals = frames.reduce((sum, frame) => sum + frame.signals.length, 0);
  return {
    id: 'identity',
    title: 'Identity',
    blocks: [
      {
        kind: 'facts',
        rows: [
          ['part', orNone(part.title)],
          ['donor', orNone(part.donor)],
          ['notes', orNone(part.notes)],
          ['map made', `by ${made.by} at ${made.at}`],
          ['holds', `${plural(frames.length, 'frame')}, ${plural(signals, 'signal')}, ${plural(guards, 'guard')}`],
          ['a reader must know', requires.length > 0 ? [mono(requires.join(', '))] : 'nothing beyond plain fields'],
        ],
      },
      { kind: 'subhead', words: 'Recordings' },
      {
        kind: 'table',
        head: ['id', 'title', 'file', { name: 'bytes', align: 'right' }, { name: 'SHA-256', wide: true }],
        rows: recordingRows(map),
        otherwise: 'The map names no recording: nobody can check what it was made from.',
      },
      { kind: 'subhead', words: 'How far it is trusted' },
      standingTable(map),
    ],
  };
}
