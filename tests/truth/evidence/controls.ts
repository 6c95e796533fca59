/** What a person touches, as columns and as signals: pedals, selector, levers, and switches in whatever shape they show. */
import type { Random } from '../../../src/kit/random.ts';
import type { Deed } from './agenda.ts';
import { blank, change, combine, deadTime, hysteresis, lag, paint, STEP_S, type Column } from './columns.ts';
import type { MachineKind } from './kinds.ts';
import { addLoop } from './loops.ts';
import type { Machine } from './machine.ts';
import type { SwitchPlan } from './plan.ts';

/** How far a thing is held over time: up within a fraction of a second, let go faster. */
export function heldColumn(machine: Machine, deeds: readonly Deed[], tauS: number): Column {
  const column = machine.zero();
  for (const { startS, endS, level } of deeds) paint(column, startS, endS ?? startS + 0.25, level);
  return lag(column, tauS);
}

const still = (column: Column, floor: number): Column =>
  change(column, (value) => (Math.abs(value) < floor ? 0 : value));

/** Gives pedal and brake travel, 0 to 1. */
export function addPedals(machine: Machine, random: Random, { desk, body }: MachineKind, deeds: readonly Deed[]) {
  const of = (action: string): Deed[] => deeds.filter((each) => each.action === action);
  const pedal = still(heldColumn(machine, of('accelerate'), random.between(0.04, 0.12)), 0.004);
  const brake = still(heldColumn(machine, of('brake'), random.between(0.02, 0.07)), 0.004);
  const percent = (column: Column): Column => change(column, (value) => value * 100);
  const share = { role: 'state', unit: '%', low: 0, high: 100, pace: 'fast' } as const;
  machine.add({ ...share, name: 'pedal travel', sender: desk, column: percent(pedal), noise: random.pick([0, 0.15]) });
  const half = change(pedal, (value) => 8 + value * 46);
  machine.add({ ...share, name: 'pedal second track', sender: desk, column: half, noise: random.pick([0, 0.1]) });
  const pressed = hysteresis(pedal, 0.02, 0.01);
  machine.add({ name: 'pedal pressed', sender: desk, kind: 'flag', role: 'state', column: pressed });
  machine.answer('accelerate', ['pedal travel', 'pedal second track', 'pedal pressed']);
  const touched = hysteresis(brake, 0.03, 0.02);
  machine.add({ name: 'brake touched', sender: desk, kind: 'flag', role: 'state', column: touched });
  machine.add({ ...share, name: 'brake travel', sender: desk, column: percent(brake), noise: random.pick([0, 0.2]) });
  const pressure = lag(
    deadTime(
      change(brake, (value) => value ** 1.4 * 90),
      0.015,
    ),
    random.between(0.03, 0.12),
  );
  machine.add({ name: 'brake pressure', sender: body, column: pressure, unit: 'bar', low: 0, high: 100, noise: 0.15 });
  const lampS = random.between(0.06, 0.12);
  machine.add({ name: 'brake lamp', sender: body, kind: 'flag', role: 'state', column: deadTime(touched, lampS) });
  const behind = [['brake lamp', lampS] as const, ['brake pressure', 0.12] as const];
  machine.answer('brake', ['brake touched', 'brake travel'], behind);
  return { pedal, brake };
}

/** A thing with places that have names: codes in no order. Gives the place over time. */
export function addPlaces(
  machine: Machine,
  random: Random,
  sender: string,
  action: string,
  values: readonly string[],
  deeds: readonly Deed[],
) {
  const place = machine.zero();
  for (const { action: what, startS, level } of deeds)
    if (what === action) paint(place, startS, machine.seconds + 1, level);
  const codes = random.shuffle([0, 1, 2, 3, 4, 5, 6]).slice(0, values.length);
  const column = change(place, (index) => codes[index] as number);
  const name = `${action} place`;
  machine.add({ name, sender, kind: 'states', role: 'state', low: 0, high: 7, column });
  machine.answer(action, [name]);
  machine.answersOf(action).states = Object.fromEntries(values.map((value, index) => [value, codes[index] as number]));
  return place;
}

/** Its own sensor, and a pump or motor that does what it says. */
export function addLever(
  machine: Machine,
  random: Random,
  kind: MachineKind,
  action: string,
  deeds: readonly Deed[],
): Column {
  const { desk, drive, helper } = kind;
  const lever = still(
    heldColumn(
      machine,
      deeds.filter((each) => each.action === action),
      random.between(0.03, 0.1),
    ),
    0.01,
  );
  const name = `${action} lever`;
  const column = change(lever, (value) => value * 100);
  machine.add({
    name,
    sender: desk,
    role: 'state',
    column,
    unit: '%',
    low: -100,
    high: 100,
    noise: random.pick([0, 0.3]),
    pace: 'fast',
  });
  const most = random.pick([1800, 3200, 4500]);
  const wish = { loop: action, commander: drive, actuator: helper, demand: lever, most, unit: 'rpm', signed: true };
  const { feedback, habits } = addLoop(machine, random.fork('loop'), wish);
  const load = lag(
    change(feedback, (value) => 12 + (Math.abs(value) / most) * 130),
    random.between(0.05, 0.25),
  );
  machine.add({ name: `${action} pressure`, sender: helper, column: load, unit: 'bar', low: 0, high: 200, noise: 0.4 });
  const { leadS, lagS } = habits;
  const chain = [
    [`${action} command`, leadS + 0.03],
    [`${action} feedback`, leadS + lagS + 0.03],
    [`${action} pressure`, leadS + lagS + 0.2],
  ] as const;
  machine.answer(action, [name], chain);
  return feedback;
}

/** [steps] what the switch itself shows, with the range it needs. */
function shapeColumn(machine: Machine, random: Random, plan: SwitchPlan, deeds: readonly Deed[]) {
  const { shape } = plan;
  const flag = { kind: 'flag' as const, low: 0, high: 1 };
  const held = blank(machine.steps);
  for (const { startS, endS } of deeds) paint(held, startS, endS ?? startS + 0.3, 1);
  if (shape === 'flag') return { ...flag, column: held };
  if (shape === 'inverse') return { ...flag, column: change(held, (value) => 1 - value) };
  if (shape === 'number')
    return {
      kind: 'number' as const,
      low: 0,
      high: 100,
      column: heldColumn(
        machine,
        deeds.map((each) => ({ ...each, level: each.level * 90 })),
        0.02,
      ),
    };
  if (shape === 'pulse') {
    const lastS = random.between(0.12, 0.4);
    const pulse = blank(machine.steps);
    for (const { startS } of deeds) paint(pulse, startS, startS + lastS, 1);
    return { ...flag, column: pulse };
  }
  let presses = 0;
  const counted = blank(machine.steps);
  for (const { startS } of deeds) paint(counted, startS, machine.seconds + 1, ++presses);
  if (shape === 'toggle') return { ...flag, column: change(counted, (value) => value % 2) };
  const start = random.below(200);
  const count = { kind: 'number' as const, low: 0, high: 255, scale: 1 };
  if (shape === 'pressCount') return { ...count, column: change(counted, (value) => (value + start) % 256) };
  const [slow, fast] = [random.between(2, 6), random.between(20, 45)];
  let sum = start;
  return { ...count, column: change(held, (value) => Math.floor((sum += (value ? fast : slow) * STEP_S)) % 256) };
}

/** The switch, and what it sets going: a relay that another module closes, a current behind it. */
export function addSwitch(
  machine: Machine,
  random: Random,
  kind: MachineKind,
  plan: SwitchPlan,
  deeds: readonly Deed[],
): void {
  const { desk, body, helper } = kind;
  const { action, chain } = plan;
  const own = deeds.filter((each) => each.action === action);
  const lateS = random.between(0.005, 0.03);
  const { column, ...range } = shapeColumn(machine, random, plan, own);
  const sender = random.pick([desk, body]);
  machine.add({ ...range, name: `${action} switch`, sender, role: 'state', column: deadTime(column, lateS) });
  machine.answer(action, [`${action} switch`]);
  if (chain === 0) return;
  const on = machine.zero();
  for (const { startS, endS } of own) paint(on, startS, endS ?? startS + 0.3, 1);
  const relayS = random.between(0.06, 0.2);
  const relay = deadTime(on, relayS);
  const closer = sender === body ? helper : body;
  machine.add({ name: `${action} relay`, sender: closer, kind: 'flag', role: 'state', column: relay });
  machine.answer(action, [], [[`${action} relay`, relayS]]);
  if (chain === 1) return;
  const tauS = random.between(0.05, 0.3);
  const amps = combine(lag(relay, tauS), relay, (value) => value * 8.2 + 0.4);
  machine.add({ name: `${action} amps`, sender: closer, column: amps, unit: 'A', low: 0, high: 12, noise: 0.03 });
  machine.answer(action, [], [[`${action} amps`, relayS + tauS]]);
}
