/** Torque to speed: the inverter's answer, mass, drag, rolling, grade and brakes; wheels, yaw and what turns with them. */
import { clamp, lag, SELECTOR, STEP_S, wander, type Simulation } from './state.ts';

const GRAVITY = 9.81;
const EFFICIENCY = 0.96;
const WHEELBASE_M = 2.6;
const STEERING_RATIO = 16;
const TRACK_M = 1.5;
const BELOW_WHICH_WHEELS_ARE_STILL_KMH = 0.6;

function stepTorque({ hidden, values, inverterThere }: Simulation): void {
  hidden.torqueDelayed = lag(hidden.torqueDelayed, values.torque_request, 0.012);
  const wanted = inverterThere && values.inverter_ready ? hidden.torqueDelayed : 0;
  const next = lag(values.torque, wanted, 0.035);
  values.torque = wanted === 0 && Math.abs(next) < 0.05 ? 0 : next;
}

function stepSpeed(simulation: Simulation): void {
  const { hidden, values, parameters } = simulation;
  const direction = values.selector === SELECTOR.R ? -1 : 1;
  hidden.grade = wander(simulation, hidden.grade, 0.008, 14);
  const drive = (direction * values.torque * parameters.gear * EFFICIENCY) / parameters.wheelRadiusM;
  const drag = 0.6 * parameters.dragAreaM2 * hidden.speedMs ** 2;
  const roll = parameters.massKg * GRAVITY * (parameters.rollResistance + hidden.grade);
  const brake =
    values.brake_pressure * 190 + (values.handbrake ? 3000 : 0) + (values.selector === SELECTOR.P ? 6000 : 0);
  const before = hidden.speedMs;
  const net = drive - drag - (before > 0 || drive > roll ? roll + brake : drive);
  hidden.speedMs = Math.max(0, before + (net / parameters.massKg) * STEP_S);
  hidden.accelerationMs2 = lag(hidden.accelerationMs2, (hidden.speedMs - before) / STEP_S, 0.03);
  hidden.distanceM += hidden.speedMs * STEP_S;
  const turns = (direction * hidden.speedMs * parameters.gear) / parameters.wheelRadiusM;
  values.motor_speed = turns * 9.5493;
  values.rotor_angle = (values.rotor_angle + (turns * parameters.polePairs * STEP_S * 180) / Math.PI + 720) % 360;
}

function stepWheels({ hidden, values }: Simulation): void {
  const kmh = hidden.speedMs * 3.6;
  const still = kmh < BELOW_WHICH_WHEELS_ARE_STILL_KMH;
  const yawRadians =
    (hidden.speedMs * Math.tan((values.steering_angle / STEERING_RATIO) * (Math.PI / 180))) / WHEELBASE_M;
  const side = yawRadians * (TRACK_M / 2) * 3.6;
  const slip = 1 + 0.0012 * hidden.accelerationMs2;
  values.wheel_speed_front_left = still ? 0 : (kmh - side) * slip * 1.002;
  values.wheel_speed_front_right = still ? 0 : (kmh + side) * slip * 0.999;
  values.wheel_speed_rear_left = still ? 0 : (kmh - 0.9 * side) * 0.998;
  values.wheel_speed_rear_right = still ? 0 : (kmh + 0.9 * side) * 1.001;
  values.vehicle_speed = still ? 0 : kmh;
  values.standstill = Number(still);
  values.yaw_rate = (yawRadians * 180) / Math.PI;
  values.acceleration_along = hidden.accelerationMs2 + GRAVITY * hidden.grade;
  values.acceleration_across = yawRadians * hidden.speedMs;
  values.wheel_pulses = Math.floor(hidden.distanceM * 22) % 65536;
  values.slip_control = Number(values.brake_pressure > 38 && kmh > 12);
  values.brake_lamp = values.brake_pressed;
}

function stepCurrents({ values, parameters }: Simulation): void {
  const share = Math.abs(values.torque) / parameters.torqueMaxNm;
  values.phase_current = share * 320 + (values.inverter_ready && share > 0 ? 6 : 0);
  values.modulation = values.inverter_ready ? clamp(Math.abs(values.motor_speed) / 80 + 18 * share, 0, 100) : 0;
}

export function stepMotion(simulation: Simulation): void {
  stepTorque(simulation);
  stepSpeed(simulation);
  stepWheels(simulation);
  stepCurrents(simulation);
}
