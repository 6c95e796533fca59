/** What the controller project gets: each output with its files, made from the map when it changes. */
import { handoverFiles, type Handover, type HandoverFile } from '../../../handover/handover-files.ts';
import { neededFrames } from '../../../handover/keep-alive.ts';
import { USUAL_CAUTIONS } from '../../../handover/cautions.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { plural } from '../../../kit/sheet-figures.ts';

export const OUTPUT_NAMES = ['map', 'c', 'keep-alive', 'report'] as const;
export type OutputName = (typeof OUTPUT_NAMES)[number];

export interface Output {
  readonly name: OutputName;
  readonly title: string;
  readonly line: string;
  readonly files: readonly HandoverFile[];
  /** Helps to send: saved only after the cautions were read. */
  readonly sends: boolean;
}

const FILES: Readonly<Record<OutputName, RegExp>> = {
  map: /^signal-map\./,
  c: /^signal_map\.[ch]$/,
  'keep-alive': /^keep-alive\./,
  report: /^report\./,
};

export function outputsOf(map: SignalMap, { files }: Handover): readonly Output[] {
  const signals = map.frames.reduce((sum, frame) => sum + frame.signals.length, 0);
  const of = (name: OutputName): readonly HandoverFile[] => files.filter((file) => FILES[name].test(file.name));
  const counts = `${plural(map.frames.length, 'frame')}, ${plural(signals, 'signal')}`;
  return [
    { name: 'map', title: 'Signal map', line: counts, files: of('map'), sends: false },
    { name: 'c', title: 'C source', line: 'decoder and encoder, no allocation', files: of('c'), sends: true },
    {
      name: 'keep-alive',
      title: 'Keep-alive plan',
      line: `${plural(neededFrames(map).length, 'frame')} that it may wait for`,
      files: of('keep-alive'),
      sends: true,
    },
    { name: 'report', title: 'Report', line: 'what is known, and how', files: of('report'), sends: false },
  ];
}

export const makeHandover = (map: SignalMap): Handover => handoverFiles(map);

export const textIn = ({ bytes }: HandoverFile): string => new TextDecoder().decode(bytes);

/** Those that this very map gives reason for come first: they differ from part to part, and get skipped otherwise. */
export function inReadingOrder(cautions: readonly string[]): readonly string[] {
  const own = cautions.filter((words) => !USUAL_CAUTIONS.includes(words));
  return [...own, ...cautions.filter((words) => USUAL_CAUTIONS.includes(words))];
}
