/** Every type, function and macro of one source gets its name here, so that none of the map's can take another's. */
import type { SignalMap } from '../../map/schema.ts';
import { meantAlone } from '../encode-choice.ts';
import type { CContext } from './context.ts';
import { crcTableNames } from './crc-tables.ts';
import { filterNames } from './filter-tables.ts';
import { HELPER_NAMES } from './helpers.ts';
import { NameSpace } from './names.ts';
import { frameMacros, frameNames, type SharedNames } from './plan.ts';
import { busesOf, type Bus } from './receiver.ts';
import { sequenceMacros, sequenceNames } from './sequences.ts';
import { SHARED_MACROS, SHARED_NAMES } from './words.ts';

export interface Naming {
  readonly buses: readonly Bus[];
  /** [frames of the map] with the prefix. */
  readonly stems: readonly string[];
  /** [sequences of the map] with the prefix. */
  readonly sequences: readonly string[];
  readonly names: SharedNames;
}

export function nameAll(map: SignalMap, { prefix, macro, tables }: CContext, release: readonly string[]): Naming {
  const buses = busesOf(map, macro);
  const shared = [
    ...SHARED_MACROS.map((name) => `${macro}_${name}`),
    ...buses.map((bus) => bus.macro),
    ...filterNames(buses, prefix),
    ...(tables ? crcTableNames(map, prefix) : []),
  ];
  const statics = new NameSpace([...shared, ...[...SHARED_NAMES, ...HELPER_NAMES].map((name) => `${prefix}_${name}`)]);
  const claim = (name: string, start: string, forms: (stem: string) => readonly string[]): string =>
    start + statics.claim(name.toLowerCase(), (safe) => forms(start + safe));
  const stems = map.frames.map(({ name, id }) => claim(name || id, `${prefix}_`, frameNames));
  const sequences = map.sequences.map(({ name }) => claim(name, `${prefix}_sequence_`, sequenceNames));
  const macros = new NameSpace([...shared, ...stems.flatMap(frameMacros), ...sequences.flatMap(sequenceMacros)]);
  return { buses, stems, sequences, names: { macros, statics, released: new Set(meantAlone(map, release)) } };
}
