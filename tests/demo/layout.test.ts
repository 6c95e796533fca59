import { describe, expect, it } from 'vitest';
import { PROFILES } from '../../src/demo/profiles.ts';
import type { TrueFrame, Vehicle } from '../../src/demo/true-frame.ts';
import { makePostVan } from '../../src/demo/post-van.ts';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { bitPositions } from '../../src/frames/bits.ts';
import { checkMap } from '../../src/map/check.ts';
import { signalMapSchema } from '../../src/map/schema.ts';
import { PROFILE_NAMES } from './drives.ts';

const SEEDS = Array.from({ length: 10 }, (_, index) => 100 + index);
const VEHICLES: [string, Vehicle][] = [
  ['post van', makePostVan()],
  ...PROFILE_NAMES.flatMap((profile) =>
    SEEDS.map((seed): [string, Vehicle] => [`${profile} ${seed}`, vehicleFor(profile, seed)]),
  ),
];
const CAN_FD_LENGTHS = [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];

/** How often each payload bit is laid claim to while a page is on. */
function claims(frame: TrueFrame, page: number | null): Uint8Array {
  const { signals, counters, checksums, selectors, unclaimed, length } = frame.map;
  const count = new Uint8Array(length * 8);
  const now = signals.filter(({ when }) => when === null || when['page']?.includes(page ?? -1));
  for (const piece of [...now, ...counters, ...checksums, ...selectors, ...unclaimed]) {
    for (const at of bitPositions(piece)) count[at] = (count[at] as number) + 1;
  }
  return count;
}

describe('layouts made from seeds', () => {
  it('every true map is a signal map', () => {
    const refused = VEHICLES.filter(([, vehicle]) => !signalMapSchema.safeParse(vehicle.map).success).map(
      ([name]) => name,
    );
    expect(refused).toEqual([]);
  });

  it('no true map contradicts itself: "no data" values and ranges lie within the bits of their signals', () => {
    // Seed 72 of the paged vehicles fixes the length of fields whose "no data" value needs one bit more otherwise.
    const vehicles: [string, Vehicle][] = [...VEHICLES, ['paged 72', vehicleFor('paged', 72)]];
    const faults = vehicles.flatMap(([name, { map }]) =>
      checkMap(map).errors.map(({ message, place }) => `${name} ${place?.path ?? ''}: ${message}`),
    );
    expect(faults).toEqual([]);
  });

  it('no bit belongs to two things, and without pages each bit belongs to one', () => {
    const faults: string[] = [];
    for (const [name, vehicle] of VEHICLES) {
      for (const frame of vehicle.frames) {
        if (frame.diagnostic) continue;
        const pages = frame.pages.length > 0 ? frame.pages : [null];
        for (const page of pages) {
          const count = claims(frame, page);
          if (count.some((n) => n > 1) || (page === null && count.some((n) => n !== 1)))
            faults.push(`${name} ${frame.map.name} ${page}`);
        }
      }
    }
    expect(faults).toEqual([]);
  });

  it('identifiers are unique on their bus and lengths are those of the frame format', () => {
    for (const [name, vehicle] of VEHICLES) {
      const keys = vehicle.frames.map(({ map }) => `${map.bus} ${map.id} ${map.extended}`);
      expect(new Set(keys).size, name).toBe(keys.length);
      for (const { map, id } of vehicle.frames) {
        expect(map.fd ? CAN_FD_LENGTHS : CAN_FD_LENGTHS.slice(0, 9), `${name} ${map.name}`).toContain(map.length);
        expect(id).toBeLessThan(map.extended ? 2 ** 29 : 2 ** 11);
      }
    }
  });

  it('every profile keeps to its numbers', () => {
    for (const profile of PROFILE_NAMES) {
      const { modules, identifiers, buses, extended, fd } = PROFILES[profile];
      for (const seed of SEEDS) {
        const vehicle = VEHICLES.find(([name]) => name === `${profile} ${seed}`)?.[1] as Vehicle;
        expect(vehicle.modules.length).toBeGreaterThanOrEqual(modules[0]);
        expect(vehicle.modules.length).toBeLessThanOrEqual(modules[1]);
        expect(vehicle.buses.length).toBe(buses);
        const own = vehicle.frames.filter(({ copyOf, diagnostic }) => copyOf === null && diagnostic === null);
        if (fd === 0) {
          expect(own.length, `${profile} ${seed}`).toBeGreaterThanOrEqual(identifiers[0]);
          expect(own.length, `${profile} ${seed}`).toBeLessThanOrEqual(identifiers[1]);
        }
        if (extended === 1) expect(own.every((frame) => frame.extended)).toBe(true);
      }
    }
  });

  it('differ: orders, codings, guards, pages and formats all occur over the seeds', () => {
    const maps = VEHICLES.flatMap(([, vehicle]) => vehicle.frames.map(({ map }) => map));
    const signals = maps.flatMap((map) => map.signals);
    const crossing = signals.filter(({ lsb, length }) => lsb.bit + length > 8);
    const share = crossing.filter(({ order }) => order === 'big').length / crossing.length;
    expect(share).toBeGreaterThan(0.3);
    expect(share).toBeLessThan(0.7);
    expect(new Set(signals.map(({ coding }) => coding))).toEqual(
      new Set(['unsigned', 'signed', 'sign-magnitude', 'float', 'bcd', 'text']),
    );
    const methods = new Set(maps.flatMap(({ checksums }) => checksums.map(({ method }) => method)));
    expect(methods).toEqual(new Set(['crc', 'xor', 'sum', 'mac', 'unsolved']));
    const reasons = new Set(maps.flatMap(({ unclaimed }) => unclaimed.map(({ reason }) => reason)));
    expect(reasons).toEqual(new Set(['idle', 'constant', 'filling', 'noise', 'cipher']));
    expect(maps.some(({ fd, length }) => fd && length > 32)).toBe(true);
    expect(new Set(maps.map(({ timing }) => timing.kind))).toEqual(
      new Set(['periodic', 'on-change', 'mixed', 'reply']),
    );
    expect(maps.flatMap(({ counters }) => counters).some(({ step }) => step === -1)).toBe(true);
    const features = new Set(VEHICLES.flatMap(([, vehicle]) => vehicle.map.requires));
    expect(features).toEqual(new Set(['when', 'continues', 'checksum-when']));
    expect(makePostVan().map.requires).toEqual(['when']);
  });
});
