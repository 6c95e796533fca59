/** What the controller project gets: each output with its files, their text made only when looked at or saved. */
import { generateC } from '../../../handover/c-source.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { plural } from '../../words/format.ts';
import type { Caution } from './cautions.ts';

export type OutputName = 'map' | 'c';

export interface OutputFile {
  readonly name: string;
  readonly type: string;
  readonly text: string;
}

export interface Output {
  readonly name: OutputName;
  readonly title: string;
  readonly line: string;
  /** Can set something moving: saved only after the cautions were read. */
  readonly sends: boolean;
}

export function outputsOf(map: SignalMap): readonly Output[] {
  const signals = map.frames.reduce((sum, frame) => sum + frame.signals.length, 0);
  return [
    {
      name: 'map',
      title: 'Signal map',
      line: `${plural(map.frames.length, 'frame')}, ${plural(signals, 'signal')}`,
      sends: false,
    },
    { name: 'c', title: 'C source', line: 'decoder and encoder, no allocation', sends: true },
  ];
}

/** A name for identifiers and files: letters, digits and underscores of the part's title. */
export const stemOf = (map: SignalMap): string =>
  map.part.title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '_')
    .replace(/^_+|_+$/g, '')
    .replace(/^(?=\d)/, 'p') || 'donor_part';

export interface CFiles {
  readonly files: readonly OutputFile[];
  readonly leftOut: readonly { readonly name: string; readonly why: string }[];
}

/** The source includes its header by the name it is saved under. */
export function cFilesOf(map: SignalMap, cautions: readonly Caution[]): CFiles {
  const code = generateC(map, { cautions: cautions.map(({ words }) => words) });
  return {
    files: [
      { name: 'signal_map.h', type: 'text/x-c', text: code.header },
      { name: 'signal_map.c', type: 'text/x-c', text: code.source },
    ],
    leftOut: code.leftOut,
  };
}
