/** Which modules a vehicle has, on which bus each of them sits, and whose work it does where one is not fitted. */
import type { Random } from '../../kit/random.ts';
import { drawHabits } from '../habits.ts';
import type { Profile } from '../profiles.ts';
import type { ModuleRole } from '../quantities.ts';
import { HOST } from '../topics.ts';
import type { VehicleBus, VehicleModule } from '../true-frame.ts';
import { within, type VehicleWish } from './making.ts';

const ALWAYS: readonly ModuleRole[] = ['vehicle-control', 'inverter', 'battery', 'brake', 'body'];
const OPTIONAL: readonly ModuleRole[] = ['charger', 'cluster', 'thermal', 'steering'];
const COMFORT: readonly ModuleRole[] = ['body', 'charger', 'cluster', 'thermal'];
const LETTERS = 'ABCDEFGHIJ';

export function chooseRoles(random: Random, profile: Profile, wish: VehicleWish): readonly ModuleRole[] {
  if (wish.roles) return wish.roles;
  const count = within(random, profile.modules);
  return [...ALWAYS, ...random.shuffle([...OPTIONAL]).slice(0, count - ALWAYS.length)];
}

export function makeBuses(random: Random, profile: Profile): VehicleBus[] {
  const dataBitrate = profile.fd > 0 ? 2_000_000 : null;
  const main: VehicleBus = { name: 'can0', bitrate: 500_000, dataBitrate };
  if (profile.buses === 1) return [main];
  return [main, { name: 'can1', bitrate: random.pick([125_000, 250_000, 250_000, 500_000]), dataBitrate: null }];
}

/** Who does the work of a role in this vehicle. */
export function hostOf(role: ModuleRole, roles: readonly ModuleRole[]): ModuleRole {
  return roles.includes(role) ? role : (HOST[role] ?? role);
}

export function makeModules(
  random: Random,
  profile: Profile,
  wish: VehicleWish,
  roles: readonly ModuleRole[],
  buses: readonly VehicleBus[],
): VehicleModule[] {
  return roles.map((role, index): VehicleModule => {
    const bus = buses.length > 1 && COMFORT.includes(role) ? 1 : 0;
    const drawn = drawHabits(random.fork(`habits ${role}`), role, profile);
    const fd = drawn.fd && (buses[bus] as VehicleBus).dataBitrate !== null;
    return {
      role,
      letter: LETTERS[index] as string,
      name: role.replace('-', ' '),
      bus,
      habits: { ...drawn, fd, ...wish.habits?.[role], timing: { ...drawn.timing, ...wish.timing?.[role] } },
      hosts: OPTIONAL.filter((each) => each !== role && hostOf(each, roles) === role),
      wakesWith: COMFORT.includes(role) ? 'body' : 'powertrain',
    };
  });
}
