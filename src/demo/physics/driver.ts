/** The person: feet with a human rise, a tremor and a slow drift; hands that turn the key and move the selector. */
import { ACTIONS } from '../script.ts';
import { clamp, lag, SELECTOR, spanOf, STEP_S, holds, wander, type Simulation } from './state.ts';

const FOOT_STIFFNESS = 15;

/** A foot follows its aim like a critically damped spring (rise about 0.25 s). */
function moveFoot(position: number, rate: number, aim: number): [number, number] {
  const force = FOOT_STIFFNESS ** 2 * (aim - position) - 2 * FOOT_STIFFNESS * rate;
  const nextRate = rate + force * STEP_S;
  return [Math.max(0, position + nextRate * STEP_S), nextRate];
}

function movePedals(simulation: Simulation): void {
  const { hidden, values } = simulation;
  hidden.tremor = wander(simulation, hidden.tremor, 0.011, 0.35);
  const press = spanOf(simulation, ACTIONS.accelerator);
  const brake = spanOf(simulation, ACTIONS.brake);
  const aim = press ? clamp((press.depth ?? 0.5) + 2 * hidden.tremor, 0.05, 1) : 0;
  const brakeAim = brake ? clamp((brake.depth ?? 0.5) + hidden.tremor, 0.05, 1) : 0;
  [hidden.footAccelerator, hidden.footAcceleratorRate] = moveFoot(
    hidden.footAccelerator,
    hidden.footAcceleratorRate,
    aim,
  );
  [hidden.footBrake, hidden.footBrakeRate] = moveFoot(hidden.footBrake, hidden.footBrakeRate, brakeAim);
  const pedal = hidden.footAccelerator < 0.006 ? 0 : Math.min(100, 100 * hidden.footAccelerator);
  values.accelerator = pedal;
  values.accelerator_second_track = pedal / 2;
  values.accelerator_pressed = Number(pedal > 2.5);
  const braking = hidden.footBrake < 0.006 ? 0 : hidden.footBrake;
  values.brake_pressure =
    braking === 0
      ? Math.max(0, lag(values.brake_pressure, 0, 0.04) - 0.002)
      : lag(values.brake_pressure, 62 * braking ** 1.3, 0.05);
  values.brake_pressed = Number(braking > 0.03);
  values.regen_paddle = Number(holds(simulation, ACTIONS.paddle));
}

function takeInstants(simulation: Simulation): void {
  const { hidden, script } = simulation;
  for (; hidden.cursor < script.actions.length; hidden.cursor++) {
    const action = script.actions[hidden.cursor];
    if (!action || action.startS > hidden.nowS) return;
    if (action.action === ACTIONS.key) turnKey(simulation, action.value ?? 'off');
    if (action.action === ACTIONS.selector) hidden.selectorWanted = SELECTOR[action.value as keyof typeof SELECTOR];
  }
}

function turnKey({ hidden, values }: Simulation, value: string): void {
  if (value === 'start') {
    hidden.startUntilS = hidden.nowS + 0.7;
    if (values.brake_pressed) hidden.startWanted = true;
    return;
  }
  hidden.key = value === 'on' ? 'on' : 'off';
  if (hidden.key === 'on') hidden.keyOnSinceS = hidden.nowS;
  else {
    hidden.keyOffSinceS = hidden.nowS;
    hidden.startWanted = false;
  }
}

export function stepDriver(simulation: Simulation): void {
  takeInstants(simulation);
  movePedals(simulation);
  const { hidden, values } = simulation;
  values.key_position = hidden.nowS < hidden.startUntilS ? 3 : hidden.key === 'on' ? 2 : 0;
  hidden.steeringAim = wander(simulation, hidden.steeringAim, 55, 3.5);
  const before = hidden.steeringCourse;
  const moving = Math.min(1, hidden.speedMs ** 2 / 4);
  hidden.steeringCourse = lag(hidden.steeringCourse, hidden.steeringAim * moving + 4 * (1 - moving), 0.4);
  values.steering_angle = hidden.steeringCourse;
  values.steering_rate = (hidden.steeringCourse - before) / STEP_S;
  values.steering_torque = clamp(0.03 * values.steering_rate + 0.012 * hidden.steeringCourse, -11, 11);
}
