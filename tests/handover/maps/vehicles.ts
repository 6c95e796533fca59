/**
 * Maps of simulated vehicles of four makers, each with a capture. The demo's are its true maps with every guard; those of the
 * others have true places, codings and pages, and their keyed and unsolved guards. One is as the finders make it.
 */
import { findFields } from '../../../src/fields/find.ts';
import { toMapFrame } from '../../../src/fields/to-map-frame.ts';
import type { ProfileName } from '../../../src/demo/profiles.ts';
import { recordDrive } from '../../../src/demo/record.ts';
import { tableOf } from '../../../src/demo/recording/to-table.ts';
import { writeScript } from '../../../src/demo/script.ts';
import { completeMap } from '../../../src/demo/true-map.ts';
import { vehicleFor } from '../../../src/demo/vehicle.ts';
import type { Stream } from '../../../src/frames/table.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { aMap } from '../../support/map-parts.ts';
import { driveOf, type Case } from '../../truth/fields-conditions.ts';
import { frameOf, tableOfStreams } from '../../truth/proof-cases.ts';
import { seedsFor } from '../../truth/support/vehicles.ts';
import { caseOf, type MapCase } from './map-case.ts';

/** Of a capture: its first so many frames, all identifiers of it. */
const MOST = 8000;
const seedOf = (name: string): number => seedsFor(`maps ${name}`, 1).seeds[0] as number;

function demo(profile: ProfileName): MapCase {
  const name = `demo ${profile}`;
  const seed = seedOf(name);
  const { recording } = recordDrive(vehicleFor(profile, seed), writeScript(seed, { durationS: 30 }), { seed });
  return caseOf(name, tableOf(recording), completeMap(recording, 'first drive', [], null), MOST);
}

/** Without what a map has no words for: floats of 16 bits. */
const sayable = (frame: MapFrame): MapFrame => ({
  ...frame,
  signals: frame.signals.filter(({ coding, length }) => coding !== 'float' || length === 32 || length === 64),
});

function known(each: Case): MapCase {
  const name = `${each.maker} ${each.condition}`;
  const { streams } = driveOf(each, seedOf(name));
  const map = aMap(streams.map((stream) => sayable(frameOf(stream, undefined))));
  return caseOf(name, tableOfStreams(streams), map, MOST);
}

/** The finders' own map of some guarded frames, with what they found of counters and checksums. */
async function found(name: string): Promise<MapCase> {
  const [most, frames] = [4, 1000];
  const { streams } = driveOf({ maker: 'stranger', condition: 'short' }, seedOf(name));
  const guarded = streams.filter(({ frame }) => frame.checksums.some(({ kind }) => kind === 'rule')).slice(0, most);
  const heads = guarded.map(({ stream }): Stream => ({ ...stream, count: Math.min(frames, stream.count) }));
  const findings = await findFields(heads, {}, {});
  const timing = { kind: 'periodic', periodMs: null, jitterMs: null } as const;
  return caseOf(name, tableOfStreams(guarded), aMap(findings.map((each) => toMapFrame(each, timing))), MOST);
}

/** By name; each draws its vehicle from the seed that the name and the card's own seed give. */
export const VEHICLES: readonly (readonly [string, () => MapCase | Promise<MapCase>])[] = [
  ['demo paged', () => demo('paged')],
  ['demo fd', () => demo('fd')],
  ['demo guarded', () => demo('guarded')],
  ['other guarded', () => known({ maker: 'other', condition: 'guarded' })],
  ['stranger fd', () => known({ maker: 'stranger', condition: 'fd' })],
  ['veteran paged', () => known({ maker: 'veteran', condition: 'paged' })],
  ['found in a stranger', () => found('found in a stranger')],
];
