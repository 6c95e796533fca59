/** The running state of one simulated vehicle: the published quantities, and what only the physics needs. */
import { createRandom, type Random } from '../../kit/random.ts';
import { emptyValues, type Values } from '../quantities.ts';
import type { DriverAction, DriverScript } from '../script.ts';
import type { PhysicsParameters } from './parameters.ts';

export const STEP_S = 0.005;

export const MODE = { asleep: 0, waking: 1, on: 2, ready: 3, driving: 4, charging: 5, shuttingDown: 6 } as const;
export const SELECTOR = { P: 0, N: 1, R: 2, D: 3 } as const;
export const CONTACTOR = { open: 0, negative: 1, linkCharging: 2, closed: 3, opening: 4 } as const;
export const INVERTER = {
  start: 0,
  standby: 1,
  linkCharging: 2,
  ready: 3,
  torque: 4,
  discharging: 5,
  fault: 6,
} as const;

interface Hidden {
  nowS: number;
  /** Pedal as the foot holds it, 0..1, and how fast it moves. */
  footAccelerator: number;
  footAcceleratorRate: number;
  footBrake: number;
  footBrakeRate: number;
  tremor: number;
  /** Last instant values asked by the driver. */
  key: 'off' | 'on';
  startUntilS: number;
  startWanted: boolean;
  selectorWanted: number;
  torqueDelayed: number;
  speedMs: number;
  accelerationMs2: number;
  grade: number;
  steeringAim: number;
  steeringCourse: number;
  relaxationV: number;
  charge: number;
  contactorSinceS: number;
  inverterSinceS: number;
  keyOnSinceS: number;
  keyOffSinceS: number;
  bodyEventS: number;
  plugSinceS: number;
  auxiliaryW: number;
  distanceM: number;
  powertrainAwake: boolean;
  bodyAwake: boolean;
  /** Next script action to look at. */
  cursor: number;
}

export interface Simulation {
  readonly parameters: PhysicsParameters;
  readonly script: DriverScript;
  readonly random: Random;
  readonly values: Values;
  readonly hidden: Hidden;
  readonly inverterThere: boolean;
}

/** First-order lag: moves `from` towards `to` with a time constant. */
export const lag = (from: number, to: number, timeConstantS: number): number =>
  from + (to - from) * Math.min(1, STEP_S / timeConstantS);

/** Moves by at most `rate` a second. */
export function slew(from: number, to: number, ratePerS: number): number {
  const most = ratePerS * STEP_S;
  return from + Math.max(-most, Math.min(most, to - from));
}

export const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(high, value));

/** One step of a random course that wanders about 0 with a standard deviation and a memory. */
export function wander(simulation: Simulation, value: number, deviation: number, memoryS: number): number {
  const decay = STEP_S / memoryS;
  return value * (1 - decay) + deviation * Math.sqrt(2 * decay) * simulation.random.normal();
}

/** Whether a span action holds now. */
export function holds(simulation: Simulation, action: DriverAction['action']): boolean {
  return spanOf(simulation, action) !== undefined;
}

export function spanOf(simulation: Simulation, action: DriverAction['action']): DriverAction | undefined {
  const now = simulation.hidden.nowS;
  return simulation.script.actions.find(
    (each) => each.action === action && each.endS !== null && each.startS <= now && now < each.endS,
  );
}

const AGO_S = -1000;

export function startSimulation(parameters: PhysicsParameters, script: DriverScript): Simulation {
  const values = emptyValues();
  const ready = script.begins === 'ready';
  const simulation: Simulation = {
    parameters,
    script,
    values,
    random: createRandom(script.seed).fork('physics'),
    inverterThere: !script.unplugged.includes('inverter'),
    hidden: {
      nowS: 0,
      footAccelerator: 0,
      footAcceleratorRate: 0,
      footBrake: 0,
      footBrakeRate: 0,
      tremor: 0,
      key: ready ? 'on' : 'off',
      startUntilS: AGO_S,
      startWanted: ready,
      selectorWanted: ready ? SELECTOR.D : SELECTOR.P,
      torqueDelayed: 0,
      speedMs: 0,
      accelerationMs2: 0,
      grade: 0,
      steeringAim: 0,
      steeringCourse: 0,
      relaxationV: 0,
      charge: parameters.charge,
      contactorSinceS: AGO_S,
      inverterSinceS: AGO_S,
      keyOnSinceS: ready ? AGO_S : Infinity,
      keyOffSinceS: AGO_S,
      bodyEventS: AGO_S,
      plugSinceS: Infinity,
      auxiliaryW: 300,
      distanceM: 0,
      powertrainAwake: ready,
      bodyAwake: ready,
      cursor: 0,
    },
  };
  setStart(simulation, ready);
  if (script.fuseFired) values.pack_fault = 1;
  return simulation;
}

function setStart({ values, parameters }: Simulation, ready: boolean): void {
  const voltage = parameters.cells * (3.3 + 0.9 * parameters.charge);
  Object.assign(values, {
    vehicle_mode: ready ? MODE.ready : MODE.asleep,
    selector: ready ? SELECTOR.D : SELECTOR.P,
    key_position: ready ? 2 : 0,
    contactor_state: ready ? CONTACTOR.closed : CONTACTOR.open,
    contactor_negative: Number(ready),
    contactor_positive: Number(ready),
    dc_link_voltage: ready ? voltage : 0,
    inverter_state: ready ? INVERTER.ready : INVERTER.standby,
    pack_voltage: voltage,
    inverter_temperature: parameters.outsideC + (ready ? 11 : 2),
    motor_temperature: parameters.outsideC + (ready ? 16 : 1),
    coolant_temperature: parameters.outsideC + (ready ? 9 : 1),
    charger_temperature: parameters.outsideC,
    cabin_temperature: parameters.outsideC + 1,
    outside_temperature: parameters.outsideC,
    pack_temperature_low: parameters.outsideC + 3,
    pack_temperature_high: parameters.outsideC + 5,
    supply_voltage: ready ? 14 : 12.5,
    insulation: 2350,
    interlock_closed: 1,
    belt_fastened: Number(ready),
    regen_level: 2,
    headlamps: 1,
    light_level: 900,
    display_light: 60,
    consumption: 18,
    charge_counter: 4211.3,
    up_time: ready ? 712 : 0,
    trip: 12.6,
  });
}
