/** The three small readers of docs/readers, each given a map and frames and giving its answers in one shape. */
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import {
  SignalMapReader,
  type Decoded,
  type SignalMapDocument,
} from '../../docs/readers/typescript/read-signal-map.ts';
import { formatPayload } from '../../src/map/raw-values.ts';
import { printMap } from '../../src/map/print.ts';
import type { SignalMap } from '../../src/map/schema.ts';
import { STRICT, workplace, type Workplace } from '../support/compile-c.ts';

const READERS = fileURLToPath(new URL('../../docs/readers/', import.meta.url));

export interface AskedFrame {
  readonly bus: string;
  readonly id: number;
  readonly extended: boolean;
  readonly payload: Uint8Array;
}

/** Takes the text of a map's file. */
export type Reader = (map: string, frames: readonly AskedFrame[]) => Decoded[];

/** Endless numbers have no place in JSON: the readers of the command line write them as texts. */
const written = (decoded: Decoded): unknown => ({
  ...decoded,
  signals: decoded.signals.map((signal) => ({
    ...signal,
    value: signal.value === null || Number.isFinite(signal.value) ? signal.value : String(signal.value),
  })),
});

export const inTypeScript: Reader = (map, frames) => {
  const reader = new SignalMapReader(JSON.parse(map) as SignalMapDocument);
  return frames.map(({ bus, id, extended, payload }) => written(reader.decode(bus, id, extended, payload)) as Decoded);
};

const lineOf = ({ bus, id, extended, payload }: AskedFrame): string =>
  `${bus} 0x${id.toString(16).toUpperCase()}${extended ? 'x' : ''} ${formatPayload(payload)}\n`;

function answersOf(program: string, args: readonly string[], input: string): Decoded[] {
  const { status, stdout, stderr, error } = spawnSync(program, args, { input, encoding: 'utf8', maxBuffer: 1 << 28 });
  if (status !== 0) throw new Error(`${program}: ${error?.message ?? stderr}`);
  const lines = stdout.split('\n').filter(Boolean);
  return lines.map((line) => JSON.parse(line) as Decoded);
}

/** Programs that read the map from a file in a folder of their own. */
export class CommandLineReaders {
  readonly place: Workplace = workplace();

  /** gcc under address and undefined-behaviour checks, as strict as the generated code. */
  constructor() {
    this.place.write('read_signal_map.c', readFileSync(join(READERS, 'c/read_signal_map.c')));
    const checks = ['-fsanitize=address,undefined', '-fno-sanitize-recover=all'];
    this.place.compile('gcc', ['-std=c99', ...STRICT, '-O1', ...checks, 'read_signal_map.c', '-o', 'read_signal_map']);
  }

  private mapFile(map: string): string {
    const file = join(this.place.folder, 'signal-map.json');
    writeFileSync(file, map);
    return file;
  }

  readonly inC: Reader = (map, frames) => {
    // What was read of the map is kept until the program ends: that is no leak.
    const args = ['ASAN_OPTIONS=detect_leaks=0', join(this.place.folder, 'read_signal_map'), this.mapFile(map)];
    return answersOf('env', args, frames.map(lineOf).join(''));
  };

  readonly inPython: Reader = (map, frames) =>
    answersOf('python3', [join(READERS, 'python/read_signal_map.py'), this.mapFile(map)], frames.map(lineOf).join(''));
}

export const textOf = (map: SignalMap): string => printMap(map);
