/** What goes on in a stranger's vehicle on one drive: all its quantities in steps of 10 ms, from pedals, simple mechanics and heat. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { chance } from './draw.ts';
import { personIn, type Person } from './people.ts';
import { QUANTITY_NAMES, type QuantityName } from './quantities.ts';
import { drawSwitches, type Switches } from './switches.ts';

export const STEPS_A_SECOND = 100;
const STEP_S = 1 / STEPS_A_SECOND;
/** `standing`: the key is on and nothing drives, as in a wrecked donor. */
export type Circumstance = 'driving' | 'standing';
/** [steps] each quantity in its unit. */
export type World = Readonly<Record<QuantityName, Float64Array>>;

const TURNS_A_SPEED = 62;
const toward = (value: number, goal: number, share: number): number => value + (goal - value) * share;

class Body {
  speed = 0;
  speedBefore = 0;
  /** m/s². */
  push = 0;
  torque = 0;
  asked = 0;
  amps = 0;
  pressure = 0;
  charge: number;
  motor: number;
  inverter: number;
  odometer: number;
  energy: number;
  readonly air: number;
  readonly since: number;

  constructor(random: Random) {
    this.charge = random.between(30, 90);
    this.motor = random.between(15, 40);
    this.inverter = this.motor + 2;
    this.odometer = random.next() * 200000;
    this.energy = random.next() * 5000;
    this.air = Math.round(random.between(-5, 35));
    this.since = random.next() * 5000;
  }

  step({ pedal, brake, slope }: Person, on: boolean, drives: boolean, fan: number, pumpOn: number): void {
    const { speed } = this;
    const released = speed > 5 ? -30 - brake : 0;
    this.asked = !on || !drives ? 0 : pedal > 0 ? pedal * 2.6 - (speed > 0 ? 10 : 0) : released;
    this.torque = toward(this.torque, this.asked, 0.15);
    const drag = speed > 0 ? 0.15 + slope + speed * speed * 0.00006 : 0;
    this.push = this.torque / 45 - brake * 0.06 - drag;
    this.speedBefore = speed;
    this.speed = drives ? Math.max(0, speed + this.push * STEP_S * 3.6) : 0;
    this.amps = toward(this.amps, this.torque * this.speed * 0.02 + (on ? 3 + fan * 0.6 : 0.3), 0.2);
    this.charge -= ((this.amps * STEP_S) / 3600) * 0.7;
    this.motor += (Math.abs(this.torque) * 0.002 - (this.motor - this.air) * 0.0015) * STEP_S * 3;
    this.inverter += (Math.abs(this.amps) * 0.003 - (this.inverter - this.air) * 0.004) * STEP_S * 3;
    this.odometer += (this.speed / 3.6) * STEP_S;
    this.energy += Math.abs(this.amps) * 0.0001;
    this.pressure = toward(this.pressure, brake * 3 + (pumpOn ? 60 : 5), 0.01);
  }
}

interface Moment {
  readonly timeS: number;
  readonly keyOnS: number;
  readonly startS: number | null;
  readonly body: Body;
  readonly person: Person;
  readonly switched: ReturnType<Switches['at']>;
}

function statesAt({ timeS, keyOnS, startS, body }: Moment): Pick<Record<QuantityName, number>, 'gear' | 'mode'> {
  if (timeS < keyOnS) return { gear: 0, mode: 0 };
  const gear = startS !== null && timeS > startS - 1.5 ? 3 : 0;
  if (timeS < keyOnS + 1.2) return { gear, mode: timeS < keyOnS + 0.4 ? 1 : 2 };
  return { gear, mode: gear !== 3 ? 3 : body.push < -0.5 ? 6 : 5 };
}

function quantitiesAt(moment: Moment): Record<QuantityName, number> {
  const { timeS, keyOnS, body, person, switched } = moment;
  const { speed, amps, charge, motor, air } = body;
  const { steering, pedal, brake } = person;
  const on = timeS >= keyOnS;
  const curve = speed * steering * 0.00012;
  const lit = timeS % 0.72 < 0.36 ? 1 : 0;
  const { doorLeft, doorRight, belt, fault, pumpOn, wiper, fan } = switched;
  const { gear, mode } = statesAt(moment);
  return {
    doorLeft,
    doorRight,
    belt,
    fault,
    pumpOn,
    wiper,
    fan,
    gear,
    mode,
    speed,
    wheelFrontLeft: Math.max(0, speed + curve),
    wheelFrontRight: Math.max(0, speed - curve),
    wheelRearLeft: Math.max(0, speed + curve * 0.8),
    wheelRearRight: Math.max(0, speed - curve * 0.8),
    turns: speed * TURNS_A_SPEED,
    torque: body.torque,
    torqueAsked: body.asked,
    pedal,
    brake,
    steering,
    yaw: speed * steering * 0.004,
    accelerationAlong: ((speed - body.speedBefore) / 3.6) * STEPS_A_SECOND,
    accelerationAcross: speed * speed * steering * 0.000006,
    volts: 330 + charge * 0.7 - amps * 0.06,
    amps,
    charge,
    motorTemperature: motor,
    inverterTemperature: body.inverter,
    cellTemperature: air + 3 + (motor - air) * 0.1,
    airTemperature: air,
    boardVolts: on ? 14.2 - fan * 0.02 : 12.4,
    pressure: body.pressure,
    chargeLimit: Math.min(120, (100 - charge) * 3),
    dischargeLimit: Math.min(180, charge * 6),
    odometer: body.odometer,
    seconds: body.since + timeS,
    tenths: (body.since + timeS) * 10,
    energy: body.energy,
    braking: brake > 2 ? 1 : 0,
    ready: timeS > keyOnS + 1.2 ? 1 : 0,
    lampLeft: switched.blinksLeft * lit,
    lampRight: switched.blinksRight * lit,
    moving: speed > 0.5 ? 1 : 0,
    key: on ? 1 : 0,
  };
}

export function makeWorld(seed: string, circumstance: Circumstance, seconds: number): World {
  const random = createRandom(`drive ${seed}`);
  const steps = Math.ceil(seconds * STEPS_A_SECOND) + 1;
  const world = Object.fromEntries(QUANTITY_NAMES.map((name) => [name, new Float64Array(steps)])) as World;
  const body = new Body(random);
  const keyOnS = chance(random, 0.4) ? random.between(1, 5) : -1;
  const startS = circumstance === 'standing' ? null : random.between(2, 8);
  const person = personIn(random, startS);
  const switches = drawSwitches(random, circumstance);
  for (let step = 0; step < steps; step++) {
    const timeS = step / STEPS_A_SECOND;
    const switched = switches.at(timeS);
    person.step(timeS, body.speed);
    body.step(person, timeS >= keyOnS, startS !== null, switched.fan, switched.pumpOn);
    const now = quantitiesAt({ timeS, keyOnS, startS, body, person, switched });
    for (const name of QUANTITY_NAMES) world[name][step] = now[name];
  }
  return world;
}
