/**
 * What moves the machine: torque asked from the pedals, what each motor gives of it, speed, power, current and charge, so that what
 * physics ties together is tied. Longitudinal dynamics as in any textbook (Mitschke and Wallentowitz 2004, chapter 2), in steps of the grid.
 */
import type { Random } from '../../../src/kit/random.ts';
import { chance } from '../stranger/draw.ts';
import { change, combine, integrate, lag, limitRate, saturate, STEP_S, timesOf, type Column } from './columns.ts';
import { arrivals } from './beats.ts';
import type { MachineKind } from './kinds.ts';
import {
  drawFault,
  drawHabits,
  drawInterlock,
  drawLimit,
  enableOf,
  heardInterlock,
  tellLoop,
  type LoopHabits,
} from './loops.ts';
import type { Machine } from './machine.ts';

/** m/s; fields are made for it. */
const TOP_SPEED = 25;

export interface Controls {
  readonly pedal: Column;
  readonly brake: Column;
  /** Index of the selector's place; 0 stands. */
  readonly place: Column;
  /** 1 where the machine may drive. */
  readonly ready: Column;
}

interface Motor {
  readonly loop: string;
  readonly inverter: string;
  readonly habits: LoopHabits;
  /** Share of the torque, and 1 or -1 as it is mounted. */
  readonly share: number;
  readonly sign: number;
  readonly asked: Column;
  /** The same as it comes over the bus. */
  readonly heard: Column;
  readonly arrived: ReadonlyMap<number, number>;
  readonly given: Column;
  /** As given without the limit. */
  readonly free: Column;
  /** 0 where an interlock takes the enable away, and the same as the part knows it. */
  readonly interlock: Column;
  readonly allowed: Column;
  readonly limit: Column;
  readonly fault: Column;
  readonly there: boolean;
}

export interface Drive {
  /** m/s, forward positive. */
  readonly speed: Column;
  readonly motors: readonly Motor[];
  /** Share of its full torque that the pack allows each motor. */
  readonly derating: Column;
  /** How often that held a command back. */
  readonly derated: number;
  /** W at the wheels over all motors. */
  readonly power: Column;
}

function drawMotors(machine: Machine, random: Random, { inverters, torqueMost, drive }: MachineKind): Motor[] {
  return inverters.map((inverter, index): Motor => {
    const own = random.fork(`motor ${index}`);
    const habits = drawHabits(own, [8, 160]);
    const interlock = drawInterlock(machine, inverter);
    return {
      loop: inverters.length > 1 ? `torque ${index + 1}` : 'torque',
      inverter,
      habits: { ...habits, has: { ...habits.has, limit: true } },
      share: inverters.length > 1 ? ([0.4, 0.6][index] as number) : 1,
      sign: index === 1 && chance(own, 0.5) ? -1 : 1,
      asked: machine.zero(),
      heard: machine.zero(),
      arrived: arrivals(machine.beatOf(drive, 'fast'), machine.steps),
      given: machine.zero(),
      free: machine.zero(),
      interlock,
      allowed: heardInterlock(interlock, habits),
      limit: drawLimit(machine, inverter, torqueMost),
      fault: drawFault(machine, inverter),
      there: machine.isThere(inverter),
    };
  });
}

const directionOf = (place: number, places: readonly string[]): number =>
  place === 0 ? 0 : place === 2 && places.length !== 4 ? -1 : 1;

/** Step by step, as torque, power and speed hold each other. */
export function runDrive(machine: Machine, random: Random, kind: MachineKind, controls: Controls): Drive {
  const { massKg, wheelRadiusM, gear, torqueMost, powerMost, selector } = kind;
  const { pedal, brake, place, ready } = controls;
  const motors = drawMotors(machine, random, kind);
  const commanded = machine.isThere(kind.drive);
  const [speed, power, held] = [machine.zero(), machine.zero(), machine.zero()];
  const derating = drawLimit(machine, 'derating', 1);
  const heardDerating = machine.heard(derating, kind.pack, 'medium');
  const slopeEveryS = random.between(25, 60);
  const askedLate = Math.round(random.between(0.02, 0.05) / STEP_S);
  let now = 0;
  for (let step = 0; step < machine.steps; step++) {
    const turns = Math.abs(now / wheelRadiusM) * gear;
    const end = turns > 1 ? Math.min(torqueMost, (powerMost * 1000) / turns) : torqueMost;
    const before = Math.max(0, step - askedLate);
    const way = directionOf(place[before] as number, selector);
    const press = (pedal[before] as number) * way * (ready[step] as number);
    const push = press - Math.sign(now) * (brake[before] as number) * Math.min(1, Math.abs(now)) * 0.35;
    let force = 0;
    let watts = 0;
    for (const motor of motors) {
      const { asked, heard, given, free, share, sign, limit, there } = motor;
      const asksFor = push * torqueMost * share * motors.length;
      const may = Math.min(end, (heardDerating[step] as number) * torqueMost);
      const wanted = Math.max(-may, Math.min(may, asksFor));
      if (may < end && may < 0.97 * torqueMost && Math.abs(asksFor) > may) held[step] = 1;
      asked[step] = there || motor.habits.gone === 'keeps' ? wanted * sign : 0;
      heard[step] = asked[motor.arrived.get(step) ?? -1] ?? heard[step - 1] ?? 0;
      const most = Math.min(end, limit[step] as number);
      free[step] = there && commanded ? followOne(motor, step, torqueMost) : 0;
      given[step] = Math.max(-most, Math.min(most, free[step] as number));
      force += ((given[step] as number) * sign * gear) / wheelRadiusM;
      watts += (given[step] as number) * sign * (now / wheelRadiusM) * gear;
    }
    const slope = Math.sin((step * STEP_S * 2 * Math.PI) / slopeEveryS) * 0.12;
    const holding = (brake[step] as number) * 4.5 + 0.14;
    const drag = Math.sign(now) * (holding + now * now * 0.006);
    const pull = force / massKg - (now === 0 ? 0 : slope);
    now = now === 0 && Math.abs(pull) < holding ? 0 : withDrag(now, pull, drag);
    speed[step] = now;
    power[step] = watts;
  }
  const derated = timesOf(held, (value) => value === 1, 0.3);
  return { speed, motors, derating, derated, power };
}

/** Friction stops a machine and never drives it back. */
function withDrag(now: number, free: number, drag: number): number {
  const next = now + (free - drag) * STEP_S;
  return now !== 0 && Math.sign(next) !== Math.sign(now) ? 0 : next;
}

/** One step of the motor's own following: dead time, then first order or limited rate. */
function followOne({ heard, given, fault, allowed, habits }: Motor, step: number, most: number): number {
  const late = Math.round((habits.lagS * (habits.follows === 'dead' ? 1 : 0.4)) / STEP_S);
  const goal = fault[step] || !allowed[step] ? 0 : (heard[Math.max(0, step - late)] as number);
  const before = step > 0 ? (given[step - 1] as number) : 0;
  if (habits.follows === 'dead') return goal;
  if (habits.follows === 'rate') {
    const most1 = (most / (habits.lagS * 1.6)) * STEP_S;
    return before + Math.max(-most1, Math.min(most1, goal - before));
  }
  return before + (goal - before) * (1 - Math.exp(-STEP_S / (habits.lagS * 0.7)));
}

/** What the pack allows: no command goes beyond it. */
function tellDerating(
  machine: Machine,
  { pack, drive }: MachineKind,
  motors: readonly Motor[],
  derating: Column,
  derated: number,
): void {
  const name = 'torque allowed';
  const column = change(derating, (value) => value * 100);
  machine.add({ name, sender: pack, role: 'limit', unit: '%', low: 0, high: 100, column });
  machine.shown.set(name, derated);
  for (const { loop, inverter } of motors)
    machine.pairs.push({
      loop,
      command: `${loop} asked`,
      partner: name,
      role: 'limit',
      commander: drive,
      actuator: inverter,
      lagS: null,
    });
}

export function tellMotors(
  machine: Machine,
  random: Random,
  kind: MachineKind,
  { motors, speed, derating, derated }: Drive,
  controls: Controls,
): void {
  const { torqueMost, wheelRadiusM, gear, drive } = kind;
  const rpmPerSpeed = (gear / wheelRadiusM) * (30 / Math.PI);
  const rpmMost = Math.ceil((TOP_SPEED * rpmPerSpeed) / 1000) * 1000;
  tellDerating(machine, kind, motors, derating, derated);
  motors.forEach((motor, index) => {
    const { loop, inverter, habits, sign, asked, given, free, interlock, limit, fault } = motor;
    const named = kind.inverters.length > 1 ? ` ${index + 1}` : '';
    const names = { commandName: `${loop} asked`, feedbackName: `${loop} given` };
    const on = combine(
      enableOf(
        combine(controls.place, speed, (where, pace) => (where !== 0 || Math.abs(pace) > 0.05 ? 1 : 0)),
        { ...habits, holdS: 0.2 },
      ),
      controls.ready,
      (a, b) => a * b,
    ).map((value, step) => value * (interlock[step] as number));
    const parts = {
      loop,
      commander: drive,
      actuator: inverter,
      unit: 'Nm',
      most: torqueMost,
      signed: true,
      pace: 'fast' as const,
    };
    tellLoop(machine, random.fork(loop), {
      ...parts,
      ...names,
      command: asked,
      feedback: given,
      free,
      enable: on,
      limit,
      fault,
      habits,
      noise: 0.003,
    });
    const turns = change(speed, (value) => value * sign * rpmPerSpeed);
    machine.add({
      name: `turns${named}`,
      sender: inverter,
      column: turns,
      unit: 'rpm',
      low: -rpmMost,
      high: rpmMost,
      noise: 1.5,
      pace: 'fast',
    });
    const heat = change(given, (value) => (Math.abs(value) / torqueMost) * 0.35);
    const warm = combine(integrate(heat, 31 + index * 3), heat, (value) => value);
    machine.add({
      name: `winding temperature${named}`,
      sender: inverter,
      column: warm,
      unit: '°C',
      low: -40,
      high: 160,
      noise: 0.2,
      pace: 'slow',
    });
    const chain = [
      [`${loop} asked`, 0.09],
      [`${loop} given`, 0.09 + habits.lagS],
      [`turns${named}`, 0.5 + habits.lagS],
    ] as const;
    machine.answer('accelerate', [], chain);
  });
}

/** Speeds of wheels and machine, each by who measures it. */
export function tellSpeeds(machine: Machine, random: Random, kind: MachineKind, { speed }: Drive): void {
  const kmh = change(speed, (value) => Math.abs(value) * 3.6);
  const most = TOP_SPEED * 3.6;
  const range = { unit: 'km/h', low: 0, high: most, quantity: 'speed' } as const;
  const steer = lag(
    limitRate(
      change(machine.zero(), (_, step) => Math.sin((step * STEP_S) / 5.3) * Math.sin((step * STEP_S) / 2.9)),
      0.4,
      0.4,
    ),
    0.2,
  );
  machine.add({
    name: 'steering',
    sender: kind.desk,
    role: 'state',
    column: change(steer, (value) => value * 38),
    unit: '°',
    low: -60,
    high: 60,
    noise: 0.05,
    pace: 'fast',
  });
  const wheels = Array.from({ length: kind.wheels }, (_, wheel) => {
    const side = (wheel % 2 === 0 ? 1 : -1) * (wheel === 2 && kind.wheels === 3 ? 0 : 1);
    const name = `wheel speed ${wheel + 1}`;
    const column = combine(kmh, steer, (value, angle) => value * (1 + side * angle * 0.06));
    machine.add({ ...range, name, quantity: name, sender: kind.body, column, noise: 0.04, pace: 'fast' });
    return name;
  });
  machine.add({
    ...range,
    name: 'speed',
    sender: kind.drive,
    column: lag(kmh, random.between(0.02, 0.1)),
    pace: 'medium',
  });
  const moves = change(kmh, (value) => (value > 0.8 ? 1 : 0));
  machine.add({ name: 'moving', sender: kind.drive, kind: 'flag', role: 'state', column: moves });
  machine.copy('speed', kind.panel, random.between(0.08, 0.25), { pace: 'slow', high: most * 1.5 });
  machine.answer('accelerate', [], [['speed', 0.9], ...wheels.map((name) => [name, 0.85] as const)]);
  machine.relations.push({ law: 'wheel-speeds', signals: wheels, constant: 1 });
  const perKmh = ((kind.gear / kind.wheelRadiusM) * (30 / Math.PI)) / 3.6;
  const turns = kind.motors > 1 ? 'turns 1' : 'turns';
  machine.relations.push({ law: 'ratio', signals: [turns, 'speed'], constant: perKmh });
}

/** Voltage, current, charge and cells. */
export function tellPack(machine: Machine, random: Random, kind: MachineKind, { power, motors }: Drive): void {
  const { cells, capacityAh, pack } = kind;
  const efficiency = random.between(0.86, 0.94);
  const restCell = random.between(3.5, 3.9);
  const ohms = (cells * restCell * 0.06) / ((kind.powerMost * 1000 * kind.motors) / (cells * restCell));
  const electric = change(power, (watts) => (watts >= 0 ? watts / efficiency : watts * efficiency) + 180);
  const rest = cells * restCell;
  const amps = lag(
    change(electric, (watts) => watts / rest),
    0.015,
  );
  const most = Math.ceil((kind.powerMost * kind.motors * 24) / rest) * 50;
  const start = machine.happenings.fork('charge').between(35, 90);
  const charge = saturate(
    integrate(
      change(amps, (value) => (-value / 3600 / capacityAh) * 100),
      start,
    ),
    0,
    100,
  );
  const volts = combine(amps, charge, (value, now) => rest * (1 + (now - start) * 0.003) - value * ohms);
  const top = Math.ceil((cells * 4.3) / 10) * 10;
  machine.add({
    name: 'pack amps',
    sender: pack,
    column: amps,
    unit: 'A',
    low: -most,
    high: most,
    noise: most * 0.0007,
    pace: 'fast',
  });
  machine.add({
    name: 'pack volts',
    sender: pack,
    column: volts,
    unit: 'V',
    low: 0,
    high: top,
    noise: top * 0.0003,
    pace: 'fast',
  });
  machine.add({
    name: 'charge',
    sender: pack,
    column: charge,
    unit: '%',
    low: 0,
    high: 100,
    scale: random.pick([0.01, 0.02, 0.05]),
    pace: 'slow',
  });
  const mean = change(volts, (value) => value / cells);
  const cell = { sender: pack, unit: 'V', low: 0, high: 5, pace: 'medium' } as const;
  // All cells are sent alike.
  const scale = random.pick([0.001, 0.002, 0.0025]);
  machine.add({ ...cell, name: 'cell mean', column: mean, noise: 0.0005 });
  for (let place = 1; place <= 4; place++) {
    const off = random.normal() * 0.006;
    machine.add({
      ...cell,
      name: `cell ${place}`,
      column: change(mean, (value) => value + off),
      noise: 0.001,
      scale,
      pace: 'slow',
    });
  }
  const allowed = limitRate(
    change(charge, (value) => Math.round(value * 0.9)),
    1,
    1,
  );
  machine.add({
    name: 'discharge allowed',
    sender: pack,
    role: 'limit',
    column: allowed,
    unit: 'kW',
    low: 0,
    high: 120,
    pace: 'slow',
  });
  for (const { inverter, loop } of motors) {
    const name = `${loop} link volts`;
    machine.add({
      name,
      sender: inverter,
      column: change(volts, (value) => value - 0.4),
      unit: 'V',
      low: 0,
      high: top,
      noise: top * 0.001,
    });
  }
  machine.copy('charge', kind.panel, random.between(0.1, 0.4), { pace: 'slow', scale: random.pick([0.5, 1]) });
  machine.answer(
    'accelerate',
    [],
    [
      ['pack amps', 0.3],
      ['pack volts', 0.3],
    ],
  );
  machine.relations.push({ law: 'cells', signals: ['pack volts', 'cell mean'], constant: cells });
  machine.relations.push({ law: 'charge', signals: ['pack amps', 'charge'], constant: capacityAh });
  const parts = motors.flatMap(({ loop }, index) => [
    `${loop} given`,
    motors.length > 1 ? `turns ${index + 1}` : 'turns',
  ]);
  machine.relations.push({ law: 'power', signals: ['pack volts', 'pack amps', ...parts], constant: efficiency });
}
