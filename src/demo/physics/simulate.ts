/**
 * Runs a script through the physics and keeps every quantity at every step: the truth that frames are made from and
 * that tests compare with. Sensor noise is part of the truth, so that copies of a quantity agree with each other.
 */
import { QUANTITY_NAMES, quantityOf, type QuantityName } from '../quantities.ts';
import type { DriverScript } from '../script.ts';
import { stepBody } from './body.ts';
import { stepAwake, stepControl } from './control.ts';
import { stepDriver } from './driver.ts';
import { stepMotion } from './motion.ts';
import { stepPack } from './pack.ts';
import type { PhysicsParameters } from './parameters.ts';
import { startSimulation, STEP_S, type Simulation } from './state.ts';

export interface Truth {
  readonly stepS: number;
  readonly steps: number;
  /** [steps] of each quantity, physical, as its sensor or decider has it. */
  readonly columns: Readonly<Record<QuantityName, Float32Array>>;
  /** [steps] 1 where the powertrain's modules are called to be awake. */
  readonly powertrainAwake: Uint8Array;
  /** [steps] the same for body and comfort modules. */
  readonly bodyAwake: Uint8Array;
}

function stepOnce(simulation: Simulation): void {
  stepAwake(simulation);
  stepDriver(simulation);
  stepControl(simulation);
  stepMotion(simulation);
  stepPack(simulation);
  stepBody(simulation);
}

/** Settles slews and lags of a vehicle that is running at time 0, without moving its script. */
function settle(simulation: Simulation): void {
  const { hidden } = simulation;
  for (let i = 0; i < 1200; i++) {
    hidden.nowS = -6 + i * STEP_S;
    stepOnce(simulation);
  }
}

const NOISE_TABLE = 8192;

/** Drawing a normal for each of some forty sensors at each step is the costliest part: a long table serves as well. */
function drawNoiseTable(simulation: Simulation): Float32Array {
  const random = simulation.random.fork('sensors');
  return Float32Array.from({ length: NOISE_TABLE + 61 }, () => random.normal());
}

interface Recorder {
  readonly name: QuantityName;
  readonly column: Float32Array;
  readonly noise: number;
  readonly quietAtZero: boolean;
  readonly low: number;
}

export function simulate(parameters: PhysicsParameters, script: DriverScript): Truth {
  const simulation = startSimulation(parameters, script);
  const steps = Math.ceil(script.durationS / STEP_S);
  const recorders = QUANTITY_NAMES.map((name): Recorder => {
    const { noise, quietAtZero, low } = quantityOf(name);
    return { name, column: new Float32Array(steps), noise, quietAtZero, low };
  });
  const noise = drawNoiseTable(simulation);
  const awake = { powertrain: new Uint8Array(steps), body: new Uint8Array(steps) };
  if (script.begins === 'ready') settle(simulation);
  for (let step = 0; step < steps; step++) {
    simulation.hidden.nowS = step * STEP_S;
    stepOnce(simulation);
    awake.powertrain[step] = Number(simulation.hidden.powertrainAwake);
    awake.body[step] = Number(simulation.hidden.bodyAwake);
    let at = simulation.random.below(NOISE_TABLE);
    for (const recorder of recorders) recordStep(recorder, step, simulation, noise[at++ % noise.length] as number);
  }
  const columns = Object.fromEntries(recorders.map(({ name, column }) => [name, column])) as Truth['columns'];
  return { stepS: STEP_S, steps, columns, powertrainAwake: awake.powertrain, bodyAwake: awake.body };
}

function recordStep(recorder: Recorder, step: number, simulation: Simulation, draw: number): void {
  const value = simulation.values[recorder.name];
  const still = recorder.noise === 0 || (recorder.quietAtZero && value === 0);
  recorder.column[step] = still ? value : Math.max(recorder.low, value + recorder.noise * draw);
}
