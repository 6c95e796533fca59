/**
 * Which quantities answer which action, as the physics wires them: directly (the sensor of what the driver touched, or a
 * flag set by it at once) or downstream (what follows from that, in the order of cause and effect).
 */
import type { QuantityName } from './quantities.ts';
import { ACTIONS, type ActionName } from './script.ts';

export interface Responders {
  readonly direct: readonly QuantityName[];
  /** Nearest consequence first. */
  readonly downstream: readonly QuantityName[];
}

const DRIVE_CHAIN: readonly QuantityName[] = [
  'torque_request',
  'power_request',
  'torque',
  'phase_current',
  'modulation',
  'dc_current',
  'pack_current',
  'pack_voltage',
  'dc_link_voltage',
  'cell_voltage_low',
  'cell_voltage_high',
  'acceleration_along',
  'motor_speed',
  'rotor_angle',
  'vehicle_speed',
  'wheel_speed_front_left',
  'wheel_speed_front_right',
  'wheel_speed_rear_left',
  'wheel_speed_rear_right',
  'display_speed',
  'standstill',
  'torque_available_drive',
  'torque_available_regen',
  'torque_limit_drive',
  'torque_limit_regen',
  'inverter_temperature',
  'charge_counter',
  'consumption',
  'wheel_pulses',
  'slip_control',
];
const WAKING: readonly QuantityName[] = [
  'contactor_request',
  'contactor_state',
  'contactor_negative',
  'precharge_active',
  'contactor_positive',
  'dc_link_voltage',
  'inverter_state',
  'inverter_ready',
  'drive_allowed',
  'torque_available_drive',
  'torque_available_regen',
  'torque_limit_drive',
  'torque_limit_regen',
  'supply_voltage',
  'inverter_supply',
  'pack_current',
  'dc_current',
];

const TABLE: Readonly<Record<ActionName, Responders>> = {
  [ACTIONS.accelerator]: {
    direct: ['accelerator', 'accelerator_second_track', 'accelerator_pressed'],
    downstream: DRIVE_CHAIN,
  },
  [ACTIONS.brake]: {
    direct: ['brake_pressed', 'brake_pressure', 'brake_lamp'],
    downstream: ['supply_voltage', ...DRIVE_CHAIN],
  },
  [ACTIONS.paddle]: { direct: ['regen_paddle'], downstream: DRIVE_CHAIN },
  [ACTIONS.selector]: {
    direct: ['selector', 'vehicle_mode'],
    downstream: ['inverter_state', ...DRIVE_CHAIN],
  },
  [ACTIONS.key]: {
    direct: ['key_position', 'vehicle_mode'],
    downstream: ['locks', 'belt_fastened', 'pump_request', 'pump_duty', ...WAKING],
  },
  [ACTIONS.indicator]: { direct: ['indicator_left', 'lamp_left_lit'], downstream: ['supply_voltage'] },
  [ACTIONS.door]: { direct: ['door_driver'], downstream: ['locks', 'drive_allowed', 'vehicle_mode', 'inverter_state'] },
  [ACTIONS.handbrake]: { direct: ['handbrake'], downstream: [] },
  [ACTIONS.heater]: {
    direct: ['heater_on', 'heater_power'],
    downstream: [
      'pack_current',
      'dc_current',
      'pack_voltage',
      'cabin_temperature',
      'cell_voltage_low',
      'cell_voltage_high',
      'insulation',
    ],
  },
  [ACTIONS.plug]: {
    direct: ['plug_state', 'pilot_limit', 'charger_state', 'vehicle_mode'],
    downstream: ['mains_voltage', 'mains_current', 'charge_current', 'charger_temperature', 'charge_energy', ...WAKING],
  },
};

export const respondersOf = (action: ActionName): Responders => TABLE[action];
