/**
 * Makes a vehicle from a seed: which modules it has, what each of them sends and how, and the true signal map of it all.
 * The same seed and profile give the same vehicle to the bit.
 */
import { createRandom } from '../kit/random.ts';
import { FEATURES, type Feature, type SignalMap } from '../map/schema.ts';
import { makeDiagnosticFrames } from './making/diagnostic-frames.ts';
import { makeFrames } from './making/frames.ts';
import type { Making, VehicleWish } from './making/making.ts';
import { chooseRoles, makeBuses, makeModules } from './making/modules.ts';
import { makeNetworkFrame } from './making/network-frames.ts';
import { addRelays } from './making/relays.ts';
import { Identifiers } from './identifiers.ts';
import { drawParameters } from './physics/parameters.ts';
import { PROFILES, type Profile, type ProfileName } from './profiles.ts';
import type { TrueFrame, Vehicle } from './true-frame.ts';

function startMaking(seed: number, profile: Profile, wish: VehicleWish): Making {
  const random = createRandom(seed).fork(`vehicle ${profile.name}`);
  const buses = wish.buses ?? makeBuses(random, profile);
  const roles = chooseRoles(random, profile, wish);
  const modules = makeModules(random, profile, wish, roles, buses);
  const identifiers = buses.map((bus) => new Identifiers(random.fork(`identifiers ${bus.name}`)));
  return {
    random,
    profile,
    wish,
    buses,
    modules,
    identifiers,
    title: wish.title ?? `Simulated vehicle ${seed} (${profile.name})`,
    parameters: wish.parameters ?? drawParameters(seed),
  };
}

function featuresOf(frames: readonly TrueFrame[]): Feature[] {
  const uses: Record<Feature, boolean> = {
    when: frames.some(({ map }) => map.signals.some(({ when }) => when !== null)),
    continues: frames.some(({ map }) => map.signals.some(({ continues }) => continues !== undefined)),
    table: false,
    'checksum-when': frames.some(({ map }) => map.checksums.some(({ when }) => when !== null)),
  };
  return FEATURES.filter((feature) => uses[feature]);
}

function makeMap(making: Making, frames: readonly TrueFrame[]): SignalMap {
  return {
    format: 'loomscribe.signal-map',
    version: 1,
    requires: featuresOf(frames),
    part: {
      title: 'Drive unit and pack',
      donor: making.title,
      notes: 'The true map of a simulated vehicle. Everything in it is invented.',
    },
    made: { by: 'loomscribe simulated vehicle', at: '2026-03-09T08:00:00Z' },
    captures: [],
    buses: making.buses.map((bus) => ({ ...bus })),
    frames: frames.map(({ map }) => map),
    sequences: [],
  };
}

export function makeVehicle(seed: number, profile: Profile = PROFILES.plain, wish: VehicleWish = {}): Vehicle {
  const making = startMaking(seed, profile, wish);
  const own = makeFrames(making);
  const network = making.modules.map((module, index) => makeNetworkFrame(making, module, index));
  const frames = [...addRelays(making, [...own, ...network]), ...makeDiagnosticFrames(making)];
  const { parameters, buses, modules } = making;
  return { seed, profile: profile.name, parameters, buses, modules, frames, map: makeMap(making, frames) };
}

/** A vehicle of one of the scorecard's profiles. */
export const vehicleFor = (profile: ProfileName, seed: number): Vehicle => makeVehicle(seed, PROFILES[profile]);
