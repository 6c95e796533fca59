/** What every machine says besides: temperatures, timers, lamps that go by themselves, a regulator nobody touches; none of it answers anyone. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from '../stranger/draw.ts';
import { change, combine, hysteresis, integrate, lag, paint, STEP_S, type Column } from './columns.ts';
import type { MachineKind } from './kinds.ts';
import { addLoop } from './loops.ts';
import type { Machine } from './machine.ts';

/** Stays a while at each of some levels. */
export function levels(
  machine: Machine,
  name: string,
  among: readonly number[],
  stayS: readonly [number, number],
): Column {
  const random = machine.happenings.fork(name);
  const column = machine.zero(random.pick(among));
  for (let atS = random.between(0, stayS[1]); atS < machine.seconds; atS += random.between(...stayS))
    paint(column, atS, machine.seconds + 1, random.pick(among));
  return column;
}

const wander = (machine: Machine, name: string, middle: number, far: number, tauS: number): Column =>
  lag(levels(machine, name, [middle - far, middle, middle + far, middle + far / 2], [tauS, tauS * 4]), tauS);

function addWarmth(machine: Machine, random: Random, { pack, helper, panel, body }: MachineKind): void {
  const degrees = { unit: '°C', low: -40, high: 120, pace: 'slow', noise: 0.1 } as const;
  const coolant = wander(machine, 'coolant', 34, 12, random.between(8, 25));
  machine.add({ ...degrees, name: 'coolant temperature', sender: helper, column: coolant });
  machine.copy('coolant temperature', panel, random.between(0.1, 0.5), { scale: 1, noise: 0 });
  // A thermistor over a divider: counts fall with warmth on a curve (the B equation, as data sheets of such parts give it).
  const counts = change(
    coolant,
    (value) => 4095 / (1 + 0.42 * Math.exp(3650 * (1 / (value + 273.15) - 1 / 298.15)) ** -1),
  );
  machine.add({
    name: 'coolant counts',
    sender: helper,
    column: counts,
    low: 0,
    high: 4095,
    scale: 1,
    noise: 3,
    pace: 'slow',
  });
  machine.add({ ...degrees, name: 'pack temperature', sender: pack, column: wander(machine, 'pack', 24, 1.5, 40) });
  const board = wander(machine, 'board', 13.2, 0.5, random.between(3, 9));
  machine.add({
    name: 'board volts',
    sender: body,
    column: board,
    unit: 'V',
    low: 0,
    high: 20,
    noise: 0.02,
    pace: 'slow',
  });
  machine.add({
    name: 'air pressure',
    sender: body,
    column: wander(machine, 'air', 8.1, 1.1, 6),
    unit: 'bar',
    low: 0,
    high: 12,
    noise: 0.01,
  });
  addFailing(machine, random.fork('failing'), body);
  machine.add({
    name: 'reference volts',
    sender: helper,
    column: machine.zero(5),
    unit: 'V',
    low: 0,
    high: 6,
    noise: 0.004,
    pace: 'slow',
  });
}

/** A sensor that fails now and then: its value is all ones then, and a flag beside it says that it may be used, or that it may not. */
function addFailing(machine: Machine, random: Random, sender: string): void {
  const happens = machine.happenings.fork('sensor fails');
  const column = wander(machine, 'oil', 4.1, 1.2, 5);
  const fails = machine.zero();
  const times = chance(happens, 0.6) ? whole(happens, 2, 4) : 0;
  for (let turn = 0; turn < times; turn++) {
    const atS = ((turn + happens.between(0.2, 0.8)) / times) * machine.seconds;
    paint(fails, atS, atS + happens.between(2, 6), 1);
  }
  const shown = combine(column, fails, (value, fail) => (fail ? Infinity : value));
  machine.add({ name: 'oil pressure', sender, column: shown, unit: 'bar', low: 0, high: 10, noise: 0.01 });
  const isSaidGood = chance(random, 0.5);
  const flag = isSaidGood ? change(fails, (fail) => 1 - fail) : fails;
  const name = isSaidGood ? 'oil pressure usable' : 'oil pressure lost';
  machine.add({ name, sender, kind: 'flag', role: 'fault', column: flag });
  machine.shown.set(name, times);
}

/** A fan that a temperature turns on, a pump of its own habits: loops without a person. */
function addOwnLoops(machine: Machine, random: Random, { drive, helper, charger, pack, panel }: MachineKind): void {
  const warm = wander(machine, 'warm', 50, 20, 5);
  const fan = levels(machine, 'fan', [0.3, 0.5, 0.8, 1], [5, 15]);
  const demand = combine(fan, hysteresis(warm, 52, 44), (value, on) => value * on);
  addLoop(machine, random.fork('fan loop'), {
    loop: 'fan',
    commander: drive,
    actuator: helper,
    demand,
    most: 100,
    unit: '%',
    signed: false,
  });
  const pump = levels(machine, 'pump', [0.2, 0.35, 0.6, 0.9], [4, 14]);
  addLoop(machine, random.fork('pump loop'), {
    loop: 'coolant pump',
    commander: pack,
    actuator: helper,
    demand: pump,
    most: 5200,
    unit: 'rpm',
    signed: false,
  });
  const trickle = levels(machine, 'supply', [0, 0.4, 0.7, 1], [6, 20]);
  addLoop(machine, random.fork('supply loop'), {
    loop: 'board supply',
    commander: panel,
    actuator: charger,
    demand: trickle,
    most: 90,
    unit: 'A',
    signed: false,
  });
}

export function addFiller(machine: Machine, random: Random, kind: MachineKind): void {
  addWarmth(machine, random.fork('warmth'), kind);
  addOwnLoops(machine, random.fork('loops'), kind);
  const seconds = change(machine.zero(), (_, step) => Math.floor(step * STEP_S + 4711));
  machine.add({
    name: 'seconds on',
    sender: kind.panel,
    column: seconds,
    low: 0,
    high: 2 ** 20,
    scale: 1,
    pace: 'slow',
  });
  const tenths = change(integrate(machine.zero(10), machine.happenings.fork('tenths').below(9000)), Math.floor);
  machine.add({ name: 'tenths', sender: kind.pack, column: tenths, low: 0, high: 65535, scale: 1, pace: 'medium' });
  const many = [whole(random, 6, 10), whole(random, 4, 7), whole(random, 8, 14)] as const;
  const modules = [kind.body, kind.pack, kind.helper, kind.drive, kind.panel, kind.charger, kind.desk];
  for (let one = 1; one <= many[0]; one++) {
    const stayS = random.between(1, 12);
    const column = levels(machine, `flag ${one}`, [0, 1], [stayS * 0.4, stayS * 2]);
    machine.add({
      name: `own flag ${one}`,
      sender: random.pick(modules),
      kind: 'flag',
      column,
      pace: random.pick(['medium', 'slow']),
    });
  }
  for (let one = 1; one <= many[1]; one++) {
    const states = levels(machine, `state ${one}`, [0, 1, 2, 3, 4, 5].slice(0, whole(random, 3, 6)), [2, 15]);
    machine.add({
      name: `own state ${one}`,
      sender: random.pick(modules),
      kind: 'states',
      low: 0,
      high: 7,
      column: states,
    });
  }
  for (let one = 1; one <= many[2]; one++) {
    const column = wander(machine, `value ${one}`, 50, random.between(5, 45), random.between(0.2, 9));
    const noise = chance(random, 0.5) ? random.between(0.05, 0.6) : 0;
    machine.add({
      name: `own value ${one}`,
      sender: random.pick(modules),
      column,
      noise,
      pace: random.pick(['fast', 'medium', 'slow']),
    });
  }
}
