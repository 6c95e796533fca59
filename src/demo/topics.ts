/**
 * What modules talk about: a catalogue of frame topics, each with the quantities it carries and its usual period. A
 * vehicle takes as many as its profile asks for, the essential ones (rank 0) first. Which topics exist in a vehicle, how
 * they are packed and how they are guarded is decided from the seed elsewhere.
 */
import type { ModuleRole, QuantityName } from './quantities.ts';

export type SendingKind = 'periodic' | 'on-change' | 'mixed';
/** What the pages of a paged topic hold. */
export type PageTheme = 'cells' | 'pack-temperatures' | 'serial' | 'service';

export interface Topic {
  readonly name: string;
  readonly role: ModuleRole;
  /** 0: always there, answers the driver directly; 1: nearly always; 2: usual; 3: in talkative vehicles. */
  readonly rank: 0 | 1 | 2 | 3;
  readonly periodsMs: readonly number[];
  readonly kind: SendingKind;
  readonly quantities: readonly QuantityName[];
  readonly pages?: PageTheme;
  /** A copy of what another module measures: older by a task or two. */
  readonly delayed?: boolean;
  /** Bytes of ciphertext it carries. */
  readonly cipherBytes?: number;
}

function topic(
  role: ModuleRole,
  rank: 0 | 1 | 2 | 3,
  name: string,
  periodsMs: readonly number[],
  quantities: readonly QuantityName[],
  more: Partial<Topic> = {},
): Topic {
  return { role, rank, name, periodsMs, quantities, kind: 'periodic', ...more };
}

const FAST = [10, 10, 20];
const MIDDLE = [20, 40, 50];
const SLOW = [100, 100, 200];
const LAZY = [500, 1000];

export const TOPICS: readonly Topic[] = [
  topic('vehicle-control', 0, 'pedals', FAST, [
    'accelerator',
    'accelerator_second_track',
    'accelerator_pressed',
    'brake_pressed',
    'regen_paddle',
  ]),
  topic('vehicle-control', 0, 'drive_request', FAST, [
    'torque_request',
    'drive_allowed',
    'selector',
    'contactor_request',
    'regen_level',
  ]),
  topic('vehicle-control', 1, 'torque_limits', MIDDLE, ['torque_limit_drive', 'torque_limit_regen', 'power_request']),
  topic('vehicle-control', 0, 'vehicle_state', SLOW, [
    'vehicle_mode',
    'key_position',
    'selector',
    'drive_fault',
    'range_left',
  ]),
  topic('vehicle-control', 2, 'consumption', LAZY, ['consumption', 'range_left', 'state_of_charge'], { delayed: true }),
  topic('vehicle-control', 2, 'cooling_request', SLOW, ['pump_request', 'inverter_temperature', 'motor_temperature'], {
    delayed: true,
  }),
  topic('vehicle-control', 2, 'drive_echo', MIDDLE, ['motor_speed', 'torque', 'inverter_state'], { delayed: true }),
  topic('vehicle-control', 2, 'key_event', [1000], ['key_position', 'vehicle_mode', 'selector', 'regen_paddle'], {
    kind: 'on-change',
  }),
  topic(
    'vehicle-control',
    3,
    'power_flow',
    SLOW,
    ['power_request', 'pack_current', 'state_of_charge', 'charge_limit'],
    { delayed: true },
  ),
  topic('vehicle-control', 3, 'drive_options', LAZY, ['regen_level', 'range_left', 'drive_allowed']),

  topic('inverter', 0, 'inverter_status', FAST, [
    'motor_speed',
    'torque',
    'selector',
    'inverter_ready',
    'inverter_temperature',
  ]),
  topic(
    'inverter',
    1,
    'inverter_electric',
    [10, 20, 20],
    ['dc_link_voltage', 'dc_current', 'inverter_state', 'inverter_fault'],
  ),
  topic('inverter', 1, 'inverter_limits', MIDDLE, [
    'torque_available_drive',
    'torque_available_regen',
    'inverter_derating',
  ]),
  topic('inverter', 1, 'phase_current', [20, 20, 10], ['phase_current', 'modulation', 'motor_speed']),
  topic('inverter', 1, 'inverter_temperatures', SLOW, [
    'inverter_temperature',
    'motor_temperature',
    'inverter_supply',
    'coolant_temperature',
  ]),
  topic('inverter', 2, 'inverter_identity', [500, 1000], [], { pages: 'serial' }),
  topic('inverter', 2, 'rotor', FAST, ['rotor_angle', 'torque', 'phase_current']),
  topic(
    'inverter',
    2,
    'inverter_event',
    [500],
    ['inverter_state', 'inverter_ready', 'inverter_derating', 'inverter_fault'],
    { kind: 'mixed' },
  ),
  topic('inverter', 3, 'pairing', SLOW, [], { cipherBytes: 6 }),
  topic('inverter', 3, 'inverter_service', SLOW, ['inverter_supply'], { pages: 'service' }),

  topic('battery', 0, 'pack_state', FAST, ['pack_current', 'pack_voltage', 'contactor_state', 'interlock_closed']),
  topic(
    'battery',
    1,
    'pack_contactors',
    [20, 50, 100],
    ['contactor_negative', 'contactor_positive', 'precharge_active', 'contactor_state', 'pack_fault', 'pack_voltage'],
  ),
  topic('battery', 1, 'pack_limits', [50, 100], ['discharge_limit', 'charge_limit', 'state_of_charge']),
  topic('battery', 1, 'cell_voltages', [50, 100], [], { pages: 'cells' }),
  topic('battery', 1, 'cell_extremes', SLOW, [
    'cell_voltage_low',
    'cell_voltage_high',
    'pack_temperature_low',
    'pack_temperature_high',
  ]),
  topic('battery', 2, 'pack_energy', [500, 1000], ['state_of_charge', 'energy_left', 'charge_counter']),
  topic('battery', 2, 'pack_temperatures', [200, 500], ['pack_temperature_high'], { pages: 'pack-temperatures' }),
  topic('battery', 2, 'pack_insulation', LAZY, ['insulation', 'interlock_closed', 'pack_fault']),
  topic('battery', 3, 'pack_current_fine', MIDDLE, ['pack_current', 'charge_counter']),

  topic('brake', 0, 'wheel_speeds', FAST, [
    'wheel_speed_front_left',
    'wheel_speed_front_right',
    'wheel_speed_rear_left',
    'wheel_speed_rear_right',
  ]),
  topic(
    'brake',
    0,
    'brake_state',
    [20, 20, 10],
    ['brake_pressure', 'brake_lamp', 'standstill', 'slip_control', 'vehicle_speed'],
  ),
  topic('brake', 2, 'body_motion', MIDDLE, ['yaw_rate', 'acceleration_across', 'acceleration_along']),
  topic('brake', 2, 'wheel_pulses', [50, 100], ['wheel_pulses', 'standstill', 'vehicle_speed']),
  topic('brake', 3, 'wheel_speeds_rear', MIDDLE, [
    'wheel_speed_rear_left',
    'wheel_speed_rear_right',
    'acceleration_along',
  ]),

  topic('steering', 1, 'steering', FAST, ['steering_angle', 'steering_rate']),
  topic('steering', 2, 'steering_effort', MIDDLE, ['steering_torque', 'steering_angle', 'vehicle_speed'], {
    delayed: true,
  }),

  topic(
    'body',
    0,
    'lamps',
    SLOW,
    ['indicator_left', 'indicator_right', 'lamp_left_lit', 'headlamps', 'brake_lamp', 'handbrake', 'wiper'],
    { kind: 'mixed' },
  ),
  topic('body', 0, 'doors', [500, 1000], ['door_driver', 'door_rear', 'locks', 'belt_fastened'], { kind: 'on-change' }),
  topic('body', 1, 'supply', [200, 500], ['supply_voltage', 'outside_temperature', 'light_level', 'belt_fastened']),
  topic('body', 2, 'odometer', LAZY, ['odometer', 'up_time']),
  topic('body', 2, 'clock', [1000], ['clock_hour', 'clock_minute', 'clock_second', 'outside_temperature']),
  topic(
    'body',
    0,
    'body_switches',
    [50, 100],
    ['handbrake', 'door_driver', 'indicator_left', 'headlamps', 'wiper', 'light_level', 'locks'],
  ),
  topic('body', 3, 'body_echo', SLOW, ['vehicle_speed', 'key_position', 'selector'], { delayed: true }),

  topic(
    'charger',
    0,
    'charger_limits',
    [100, 100, 200],
    ['pilot_limit', 'plug_state', 'charger_state', 'charge_current'],
  ),
  topic('charger', 2, 'mains', [100, 200], ['mains_voltage', 'mains_current', 'charger_temperature']),
  topic('charger', 2, 'charge_session', LAZY, ['charge_energy', 'plug_state', 'state_of_charge'], { delayed: true }),
  topic('charger', 3, 'charger_event', [1000], ['plug_state', 'charger_state'], { kind: 'on-change' }),

  topic('thermal', 0, 'heater', [100, 200], ['heater_on', 'heater_power', 'cabin_temperature']),
  topic('thermal', 2, 'coolant', SLOW, ['coolant_temperature', 'pump_duty', 'fan_duty']),
  topic('thermal', 3, 'climate', LAZY, ['cabin_temperature', 'outside_temperature', 'heater_power', 'fan_duty']),

  topic('cluster', 1, 'display', SLOW, ['display_speed', 'warning_lamp', 'display_light', 'trip']),
  topic('cluster', 2, 'display_event', [1000], ['warning_lamp', 'display_light'], { kind: 'mixed' }),
  topic('cluster', 3, 'display_range', LAZY, ['range_left', 'trip', 'state_of_charge', 'outside_temperature'], {
    delayed: true,
  }),
];

/** Where a module is not fitted, another one does its work. */
export const HOST: Readonly<Partial<Record<ModuleRole, ModuleRole>>> = {
  cluster: 'body',
  thermal: 'vehicle-control',
  steering: 'brake',
  charger: 'battery',
};
