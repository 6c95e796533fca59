/** What is sent: each value with its range, the resolutions that are common for it, and who tends to send it. Common practice, no source. */

export type Sender =
  | 'inverter'
  | 'battery'
  | 'charger'
  | 'brakes'
  | 'steering'
  | 'body'
  | 'cluster'
  | 'thermal'
  | 'controller'
  | 'gateway';

export interface Quantity {
  readonly name: string;
  /** Of the columns; the name where left out. */
  readonly column?: string;
  readonly low: number;
  readonly high: number;
  readonly steps: readonly number[];
  /** It runs round: raw values are taken modulo the width. */
  readonly wraps?: boolean;
  readonly slow?: boolean;
  readonly kin: string;
  readonly from: readonly Sender[];
}

const SPEED = [0.01, 0.05, 0.1, 1 / 128, 1 / 64, 1 / 16, 0.5, 1];
const TEMPERATURE = [1, 1, 1, 0.5, 0.1, 0.01];
const wheel = (name: string): Quantity => ({
  name,
  low: 0,
  high: 250,
  steps: SPEED.slice(0, 6),
  kin: 'speed',
  from: ['brakes', 'brakes', 'steering', 'gateway'],
});
const pulses = (name: string): Quantity => ({
  name,
  low: 0,
  high: 255,
  steps: [1],
  wraps: true,
  kin: 'pulses',
  from: ['brakes', 'gateway'],
});
const number = (
  name: string,
  low: number,
  high: number,
  steps: readonly number[],
  kin: string,
  ...from: Sender[]
): Quantity => ({ name, low, high, steps, kin, from });
const temperature = (name: string, ...from: Sender[]): Quantity => ({
  ...number(name, -40, 210, TEMPERATURE, name, ...from),
  slow: true,
});

export const NUMBERS: readonly Quantity[] = [
  ...['wheelFL', 'wheelFR', 'wheelRL', 'wheelRR'].map(wheel),
  ...['pulsesFL', 'pulsesFR', 'pulsesRL', 'pulsesRR'].map(pulses),
  number('speed', 0, 250, SPEED, 'speed', 'brakes', 'cluster', 'controller', 'gateway', 'steering'),
  number('speedSigned', -60, 250, SPEED.slice(0, 6), 'speed', 'inverter', 'controller'),
  number('motorSpeed', -8000, 16000, [0.25, 0.5, 1, 1, 2], 'speed', 'inverter', 'inverter', 'controller'),
  { ...number('motorAngle', 0, 360, [0.1, 360 / 4096, 360 / 65536, 1], 'angle', 'inverter'), wraps: true },
  number('torque', -500, 500, [0.1, 0.25, 0.5, 1, 1 / 16], 'torque', 'inverter', 'controller', 'brakes'),
  number('torqueSet', -500, 500, [0.1, 0.25, 0.5, 1, 1 / 16], 'torque', 'controller', 'controller', 'inverter'),
  number('accelerator', 0, 100, [0.1, 0.4, 0.5, 1, 100 / 255, 100 / 1023], 'pedal', 'controller', 'gateway', 'brakes'),
  number('brakePressure', 0, 200, [0.1, 0.25, 0.5, 1], 'brake', 'brakes', 'controller'),
  number('steerAngle', -780, 780, [0.1, 0.1, 1 / 16, 0.5, 0.04375], 'steer', 'steering', 'steering', 'brakes'),
  number('yawRate', -100, 100, [0.01, 0.0625, 0.1, 0.02], 'yaw', 'brakes', 'steering'),
  number('lateral', -20, 20, [0.01, 0.02, 0.1, 1 / 256], 'lateral', 'brakes', 'steering'),
  number('longitudinal', -20, 20, [0.01, 0.02, 0.1, 1 / 256], 'longitudinal', 'brakes'),
  number(
    'packVoltage',
    0,
    600,
    [0.1, 0.25, 0.5, 1, 0.01, 1 / 64],
    'volt',
    'battery',
    'battery',
    'charger',
    'controller',
  ),
  number('packCurrent', -600, 600, [0.1, 0.05, 0.25, 1, 0.01], 'current', 'battery', 'battery', 'controller'),
  number('packPower', -200, 300, [0.1, 0.5, 1, 0.01], 'power', 'battery', 'cluster', 'controller'),
  number('linkVoltage', 0, 600, [0.1, 0.5, 1, 0.25], 'volt', 'inverter', 'charger', 'controller'),
  number('cellMean', 0, 5, [0.001, 0.0001, 0.005, 0.01], 'volt', 'battery'),
  number('charge', 0, 100, [0.1, 0.5, 1, 0.01, 0.4], 'charge', 'battery', 'cluster', 'charger', 'gateway'),
  number('rangeLeft', 0, 900, [1, 0.1], 'charge', 'cluster'),
  number('energyOut', 0, 4e7, [1, 10, 0.1], 'energy', 'battery', 'cluster'),
  number('energyIn', 0, 4e7, [1, 10, 0.1], 'energy', 'battery', 'charger'),
  number('dischargeLimit', 0, 400, [0.1, 0.5, 1], 'discharge limit', 'battery', 'controller'),
  number('chargeLimit', 0, 250, [0.1, 0.5, 1], 'charge limit', 'battery', 'charger'),
  temperature('motorTemp', 'inverter', 'thermal', 'cluster'),
  temperature('inverterTemp', 'inverter', 'thermal'),
  temperature('coolantTemp', 'thermal', 'inverter', 'cluster', 'gateway'),
  temperature('packTemp', 'battery', 'thermal'),
  temperature('chargerTemp', 'charger', 'thermal'),
  temperature('outsideTemp', 'body', 'thermal', 'cluster', 'gateway'),
  number('lowVoltage', 0, 25, [0.1, 0.05, 0.01, 0.001], 'low', 'charger', 'body', 'gateway', 'cluster'),
  number('converterCurrent', 0, 250, [0.1, 0.5, 1], 'converter', 'charger', 'body'),
  number('chargeCurrent', 0, 100, [0.1, 0.05, 0.5, 1], 'charging', 'charger', 'charger', 'battery'),
  number('mainsVoltage', 0, 400, [0.1, 0.5, 1], 'mains', 'charger'),
  number('fan', 0, 100, [0.4, 0.5, 1], 'fan', 'thermal', 'body'),
  number('pump', 0, 100, [0.4, 0.5, 1], 'fan', 'thermal', 'charger'),
  number('compressor', 0, 6000, [1, 5, 25], 'compressor', 'thermal', 'battery'),
  number('odometer', 0, 999_999, [0.1, 0.01, 1, 0.001], 'road', 'cluster', 'gateway', 'brakes'),
  number('tripKm', 0, 9999, [0.1, 0.01], 'road', 'cluster'),
  number('light', 0, 4000, [1, 2, 4], 'light', 'body'),
];

interface States {
  readonly name: string;
  readonly count: number;
  readonly from: readonly Sender[];
}
const states = (name: string, count: number, ...from: Sender[]): States => ({ name, count, from });

export const STATES: readonly States[] = [
  states('gear', 4, 'controller', 'controller', 'cluster', 'inverter', 'gateway', 'body'),
  states('mode', 6, 'controller', 'gateway', 'inverter', 'battery', 'thermal'),
  states('contactor', 5, 'battery', 'battery', 'controller', 'inverter'),
  states('chargeState', 5, 'charger', 'battery', 'cluster'),
  states('inverterState', 5, 'inverter', 'inverter', 'controller'),
  states('key', 3, 'body', 'gateway', 'controller', 'cluster', 'steering'),
  states('turnLever', 3, 'body', 'steering'),
  states('wiper', 4, 'body', 'steering'),
  states('heater', 4, 'thermal', 'body'),
  states('program', 3, 'controller', 'cluster'),
  states('stability', 3, 'brakes', 'steering'),
];

interface Flag {
  readonly name: string;
  readonly from: readonly Sender[];
}
const flag = (name: string, ...from: Sender[]): Flag => ({ name, from });

export const FLAGS: readonly Flag[] = [
  flag('flashLeft', 'body', 'cluster'),
  flag('flashRight', 'body', 'cluster'),
  flag('beam', 'body', 'cluster'),
  flag('horn', 'body', 'steering'),
  flag('door', 'body', 'cluster', 'gateway'),
  flag('passengerDoor', 'body', 'gateway'),
  flag('locked', 'body', 'gateway'),
  flag('belt', 'body', 'cluster'),
  flag('fault', 'inverter', 'battery', 'controller', 'charger', 'thermal'),
  flag('slipping', 'brakes', 'inverter'),
  flag('parked', 'controller', 'brakes', 'body', 'gateway'),
  flag('reversing', 'controller', 'body', 'gateway', 'inverter'),
  flag('braking', 'brakes', 'body', 'controller', 'cluster', 'inverter'),
  flag('pressed', 'controller', 'brakes'),
  flag('ready', 'controller', 'inverter', 'battery', 'cluster'),
  flag('awake', 'body', 'gateway', 'battery', 'charger', 'inverter', 'thermal', 'steering', 'brakes', 'cluster'),
  flag('live', 'battery', 'inverter', 'controller', 'charger', 'thermal'),
  flag('plugged', 'charger', 'cluster', 'controller'),
  flag('still', 'brakes', 'steering', 'controller'),
  flag('recovering', 'controller', 'inverter', 'brakes'),
  flag('driving', 'controller', 'inverter', 'thermal'),
];
