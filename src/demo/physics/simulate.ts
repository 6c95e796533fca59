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
  return Float32Array.from({ length: NOISE_TABLE + QUANTITY_NAMES.length }, () => random.normal());
}

/** The columns of all quantities, in the order of `QUANTITY_NAMES`, and what their sensors add. */
class Recorder {
  readonly columns: readonly Float32Array[];
  private readonly noise = Float64Array.from(QUANTITY_NAMES, (name) => quantityOf(name).noise);
  private readonly quietAtZero = Uint8Array.from(QUANTITY_NAMES, (name) => Number(quantityOf(name).quietAtZero));
  private readonly low = Float64Array.from(QUANTITY_NAMES, (name) => quantityOf(name).low);

  constructor(
    steps: number,
    private readonly draws: Float32Array,
  ) {
    this.columns = QUANTITY_NAMES.map(() => new Float32Array(steps));
  }

  /** `values` in the order of `QUANTITY_NAMES`; `from`: where in the table of draws this step begins. */
  record(step: number, values: readonly number[], from: number): void {
    for (let i = 0; i < values.length; i++) {
      const value = values[i] as number;
      const noise = this.noise[i] as number;
      const still = noise === 0 || (value === 0 && this.quietAtZero[i] === 1);
      const seen = still ? value : Math.max(this.low[i] as number, value + noise * (this.draws[from + i] as number));
      (this.columns[i] as Float32Array)[step] = seen;
    }
  }

  byName(): Truth['columns'] {
    return Object.fromEntries(QUANTITY_NAMES.map((name, index) => [name, this.columns[index]])) as Truth['columns'];
  }
}

export function simulate(parameters: PhysicsParameters, script: DriverScript): Truth {
  const simulation = startSimulation(parameters, script);
  const steps = Math.ceil(script.durationS / STEP_S);
  const recorder = new Recorder(steps, drawNoiseTable(simulation));
  const awake = { powertrain: new Uint8Array(steps), body: new Uint8Array(steps) };
  if (script.begins === 'ready') settle(simulation);
  for (let step = 0; step < steps; step++) {
    simulation.hidden.nowS = step * STEP_S;
    stepOnce(simulation);
    awake.powertrain[step] = Number(simulation.hidden.powertrainAwake);
    awake.body[step] = Number(simulation.hidden.bodyAwake);
    recorder.record(step, Object.values(simulation.values), simulation.random.below(NOISE_TABLE));
  }
  return {
    stepS: STEP_S,
    steps,
    columns: recorder.byName(),
    powertrainAwake: awake.powertrain,
    bodyAwake: awake.body,
  };
}
