/**
 * Everything that the simulated vehicle knows about itself: one entry a quantity, with its unit, design range, the
 * resolutions suppliers choose for it, the noise of its sensor, and the module that measures or decides it.
 * Ranges and resolutions are common practice, no source.
 */
import type { SignalRole } from '../map/schema.ts';

export type ModuleRole =
  'vehicle-control' | 'inverter' | 'battery' | 'brake' | 'body' | 'charger' | 'thermal' | 'steering' | 'cluster';

export interface Quantity {
  readonly kind: 'number' | 'states' | 'flag';
  readonly source: ModuleRole;
  readonly role: SignalRole;
  readonly unit: string;
  /** Design range, physical. */
  readonly low: number;
  readonly high: number;
  readonly resolutions: readonly number[];
  /** Standard deviation of the sensor, physical; 0 for what is computed. */
  readonly noise: number;
  /** The sensor is still where the quantity is exactly zero. */
  readonly quietAtZero: boolean;
  /** Slowest common refresh of the value, ms: a slow value often rides in a fast frame. */
  readonly refreshMs: number;
  readonly states: readonly string[];
}

interface NumberOptions {
  readonly role?: SignalRole;
  readonly noise?: number;
  readonly quiet?: boolean;
  readonly refreshMs?: number;
}

function number(
  source: ModuleRole,
  unit: string,
  low: number,
  high: number,
  resolutions: readonly number[],
  options: NumberOptions = {},
): Quantity {
  const { role = 'feedback', noise = 0, quiet = false, refreshMs = 0 } = options;
  return {
    kind: 'number',
    source,
    role,
    unit,
    low,
    high,
    resolutions,
    noise,
    quietAtZero: quiet,
    refreshMs,
    states: [],
  };
}

const bare = { unit: '', noise: 0, quietAtZero: false, refreshMs: 0, resolutions: [1] } as const;

function flag(source: ModuleRole, role: SignalRole = 'state'): Quantity {
  return { ...bare, kind: 'flag', source, role, low: 0, high: 1, states: [] };
}

function states(source: ModuleRole, names: readonly string[], role: SignalRole = 'state'): Quantity {
  return { ...bare, kind: 'states', source, role, low: 0, high: names.length - 1, states: names };
}

const SPEED = [0.01, 0.05, 1 / 16, 0.1, 1 / 128, 0.05625];
const TEMPERATURE = [1, 0.5, 0.1, 0.25];
const slow = { refreshMs: 500, noise: 0.04 };

const QUANTITIES = {
  accelerator: number('vehicle-control', '%', 0, 100, [100 / 255, 0.1, 0.5, 0.4, 100 / 1023], {
    role: 'state',
    noise: 0.08,
    quiet: true,
  }),
  accelerator_second_track: number('vehicle-control', '%', 0, 50, [50 / 255, 0.1, 0.2, 50 / 1023], {
    role: 'state',
    noise: 0.06,
    quiet: true,
  }),
  accelerator_pressed: flag('vehicle-control'),
  brake_pressed: flag('vehicle-control'),
  torque_request: number('vehicle-control', 'N m', -260, 260, [0.1, 1 / 8, 0.25, 0.5, 1 / 16], { role: 'command' }),
  torque_limit_drive: number('vehicle-control', 'N m', 0, 260, [0.5, 1, 0.25], { role: 'limit' }),
  torque_limit_regen: number('vehicle-control', 'N m', -260, 0, [0.5, 1, 0.25], { role: 'limit' }),
  power_request: number('vehicle-control', 'kW', -80, 80, [0.1, 0.25, 0.05], { role: 'command' }),
  selector: states('vehicle-control', ['park', 'neutral', 'reverse', 'drive']),
  vehicle_mode: states('vehicle-control', ['asleep', 'waking', 'on', 'ready', 'driving', 'charging', 'shutting down']),
  key_position: states('vehicle-control', ['off', 'accessory', 'on', 'start']),
  drive_allowed: flag('vehicle-control', 'enable'),
  contactor_request: flag('vehicle-control', 'command'),
  regen_paddle: flag('vehicle-control'),
  regen_level: states('vehicle-control', ['none', 'light', 'usual', 'strong']),
  drive_fault: flag('vehicle-control', 'fault'),
  range_left: number('vehicle-control', 'km', 0, 250, [1, 0.5], { refreshMs: 1000 }),
  consumption: number('vehicle-control', 'kWh/100 km', 0, 60, [0.1, 0.5], { refreshMs: 1000 }),
  pump_request: number('vehicle-control', '%', 0, 100, [1, 0.5], { role: 'command', refreshMs: 200 }),

  motor_speed: number('inverter', 'rpm', -12000, 12000, [0.5, 1, 0.25, 2], { noise: 1.2, quiet: true }),
  torque: number('inverter', 'N m', -260, 260, [0.1, 1 / 8, 0.0625, 0.2, 0.5], { noise: 0.35, quiet: true }),
  dc_link_voltage: number('inverter', 'V', 0, 500, [0.1, 0.25, 0.5, 1 / 16], { noise: 0.25 }),
  dc_current: number('inverter', 'A', -300, 300, [0.1, 0.25, 0.5, 1 / 32], { noise: 0.3 }),
  phase_current: number('inverter', 'A', 0, 500, [0.5, 0.25, 0.1], { noise: 0.8, quiet: true }),
  modulation: number('inverter', '%', 0, 100, [0.5, 0.1, 100 / 255]),
  inverter_temperature: number('inverter', '°C', -40, 150, TEMPERATURE, slow),
  motor_temperature: number('inverter', '°C', -40, 180, TEMPERATURE, slow),
  torque_available_drive: number('inverter', 'N m', 0, 260, [0.5, 1, 0.25], { role: 'limit' }),
  torque_available_regen: number('inverter', 'N m', -260, 0, [0.5, 1, 0.25], { role: 'limit' }),
  rotor_angle: number('inverter', '°', 0, 360, [360 / 4096, 360 / 1024, 0.1]),
  inverter_supply: number('inverter', 'V', 0, 20, [0.1, 0.05, 0.02], { noise: 0.02, refreshMs: 100 }),
  inverter_state: states('inverter', ['start', 'standby', 'link charging', 'ready', 'torque', 'discharging', 'fault']),
  inverter_ready: flag('inverter', 'enable'),
  inverter_derating: flag('inverter', 'limit'),
  inverter_fault: flag('inverter', 'fault'),

  pack_voltage: number('battery', 'V', 0, 500, [0.1, 0.25, 0.5, 0.05], { noise: 0.06 }),
  pack_current: number('battery', 'A', -400, 400, [0.1, 0.25, 0.05, 1 / 16], { noise: 0.12 }),
  state_of_charge: number('battery', '%', 0, 100, [0.5, 0.1, 0.4, 0.01], { refreshMs: 100 }),
  energy_left: number('battery', 'kWh', 0, 50, [0.1, 0.02, 0.01], { refreshMs: 500 }),
  charge_counter: number('battery', 'A h', 0, 60000, [0.01, 0.1], { refreshMs: 100 }),
  discharge_limit: number('battery', 'kW', 0, 120, [0.1, 0.25, 0.5], { role: 'limit', refreshMs: 100 }),
  charge_limit: number('battery', 'kW', 0, 120, [0.1, 0.25, 0.5], { role: 'limit', refreshMs: 100 }),
  cell_voltage_low: number('battery', 'V', 0, 5, [0.001, 0.002, 0.005], { noise: 0.0008, refreshMs: 50 }),
  cell_voltage_high: number('battery', 'V', 0, 5, [0.001, 0.002, 0.005], { noise: 0.0008, refreshMs: 50 }),
  pack_temperature_low: number('battery', '°C', -40, 85, [1, 0.5], { refreshMs: 1000, noise: 0.02 }),
  pack_temperature_high: number('battery', '°C', -40, 85, [1, 0.5], { refreshMs: 1000, noise: 0.02 }),
  insulation: number('battery', 'kΩ', 0, 4000, [1, 5, 2], { noise: 6, refreshMs: 1000 }),
  contactor_state: states('battery', ['open', 'negative closed', 'link charging', 'closed', 'opening']),
  contactor_negative: flag('battery'),
  contactor_positive: flag('battery'),
  precharge_active: flag('battery'),
  interlock_closed: flag('battery', 'enable'),
  pack_fault: flag('battery', 'fault'),

  wheel_speed_front_left: number('brake', 'km/h', 0, 250, SPEED, { noise: 0.04, quiet: true }),
  wheel_speed_front_right: number('brake', 'km/h', 0, 250, SPEED, { noise: 0.04, quiet: true }),
  wheel_speed_rear_left: number('brake', 'km/h', 0, 250, SPEED, { noise: 0.04, quiet: true }),
  wheel_speed_rear_right: number('brake', 'km/h', 0, 250, SPEED, { noise: 0.04, quiet: true }),
  vehicle_speed: number('brake', 'km/h', 0, 250, SPEED, { noise: 0.015, quiet: true }),
  standstill: flag('brake'),
  brake_pressure: number('brake', 'bar', 0, 200, [0.1, 0.5, 0.25, 1 / 16], { noise: 0.05, quiet: true }),
  brake_lamp: flag('brake', 'command'),
  acceleration_along: number('brake', 'm/s²', -16, 16, [0.01, 0.05, 1 / 64], { noise: 0.05 }),
  acceleration_across: number('brake', 'm/s²', -16, 16, [0.01, 0.05, 1 / 64], { noise: 0.05 }),
  yaw_rate: number('brake', '°/s', -120, 120, [0.1, 0.01, 0.05], { noise: 0.08 }),
  wheel_pulses: number('brake', '', 0, 65535, [1]),
  slip_control: flag('brake'),

  steering_angle: number('steering', '°', -720, 720, [0.1, 0.5, 1 / 16], { noise: 0.04 }),
  steering_rate: number('steering', '°/s', -1000, 1000, [1, 4, 0.5], { noise: 0.4 }),
  steering_torque: number('steering', 'N m', -12, 12, [0.01, 0.05, 0.1], { noise: 0.03 }),

  indicator_left: flag('body'),
  indicator_right: flag('body'),
  lamp_left_lit: flag('body', 'command'),
  door_driver: flag('body'),
  door_rear: flag('body'),
  handbrake: flag('body'),
  headlamps: flag('body'),
  belt_fastened: flag('body'),
  locks: states('body', ['unlocked', 'driver unlocked', 'locked']),
  wiper: states('body', ['off', 'interval', 'slow', 'fast']),
  supply_voltage: number('body', 'V', 0, 20, [0.1, 0.05, 1 / 16], { noise: 0.03, refreshMs: 100 }),
  outside_temperature: number('body', '°C', -40, 85, [0.5, 0.25, 1], { refreshMs: 1000, noise: 0.02 }),
  odometer: number('body', 'km', 0, 800000, [0.1, 1, 0.01], { refreshMs: 100 }),
  clock_hour: number('body', 'h', 0, 23, [1]),
  clock_minute: number('body', 'min', 0, 59, [1]),
  clock_second: number('body', 's', 0, 59, [1]),
  up_time: number('body', 's', 0, 1e6, [1, 0.1]),
  light_level: number('body', 'lx', 0, 4000, [4, 16, 1], { noise: 9, refreshMs: 200 }),

  plug_state: states('charger', ['none', 'plugged', 'locked', 'charging']),
  pilot_limit: number('charger', 'A', 0, 80, [0.5, 1, 0.1], { role: 'limit' }),
  mains_voltage: number('charger', 'V', 0, 300, [1, 0.5, 0.1], { noise: 0.5, quiet: true }),
  mains_current: number('charger', 'A', 0, 40, [0.1, 0.05], { noise: 0.05, quiet: true }),
  charge_current: number('charger', 'A', 0, 60, [0.1, 0.05], { noise: 0.05, quiet: true }),
  charger_temperature: number('charger', '°C', -40, 150, TEMPERATURE, slow),
  charger_state: states('charger', ['idle', 'waiting', 'charging', 'ending', 'fault']),
  charge_energy: number('charger', 'kWh', 0, 60, [0.001, 0.01], { refreshMs: 500 }),

  coolant_temperature: number('thermal', '°C', -40, 125, TEMPERATURE, slow),
  pump_duty: number('thermal', '%', 0, 100, [1, 0.5, 100 / 255], { noise: 0.2, quiet: true, refreshMs: 100 }),
  fan_duty: number('thermal', '%', 0, 100, [1, 0.5, 100 / 255], { refreshMs: 100 }),
  heater_on: flag('thermal'),
  heater_power: number('thermal', 'kW', 0, 6, [0.02, 0.1, 0.05], { noise: 0.01, quiet: true }),
  cabin_temperature: number('thermal', '°C', -40, 85, [0.5, 0.1], slow),

  display_speed: number('cluster', 'km/h', 0, 250, [1, 0.5], { role: 'echo' }),
  trip: number('cluster', 'km', 0, 10000, [0.1, 0.01], { refreshMs: 200 }),
  warning_lamp: flag('cluster', 'fault'),
  display_light: number('cluster', '%', 0, 100, [1, 100 / 255], { refreshMs: 200 }),
} satisfies Record<string, Quantity>;

export type QuantityName = keyof typeof QUANTITIES;
export const QUANTITY_NAMES = Object.keys(QUANTITIES) as QuantityName[];
export const quantityOf = (name: QuantityName): Quantity => QUANTITIES[name];

/** One value a quantity, physical, in the order of `QUANTITY_NAMES`; states by index, flags 0 or 1. */
export type Values = Record<QuantityName, number>;
export const emptyValues = (): Values => Object.fromEntries(QUANTITY_NAMES.map((name) => [name, 0])) as Values;
