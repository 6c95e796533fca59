/**
 * The donor of the demo: the Ormvik PK3, an electric post van that never existed, written off after a side impact. Its
 * drive unit and pack are to drive the harbour workboat Terne. Identifiers and habits are fixed here so that pictures and
 * texts can speak of them; the places of fields come from the seed.
 */
import type { TimingHabits } from './habits.ts';
import { PK3 } from './physics/parameters.ts';
import { PROFILES } from './profiles.ts';
import type { Vehicle } from './true-frame.ts';
import type { VehicleWish } from './making/making.ts';
import { makeVehicle } from './vehicle.ts';

export const DEMO_SEED = 20260309;

const crcGuard = {
  kind: 'crc8-last',
  share: 1,
  poly: 0x1d,
  counter: { length: 4, max: 14, step: 1, every: 1 },
  at: 'last',
  nibble: 'low',
} as const;

const clock = (tickMs: number, skewPpm: number, skewDriftPpm: number, jitterUs: number): Partial<TimingHabits> => ({
  tickMs,
  skewPpm,
  skewDriftPpm,
  jitterUs,
});

const WISH: VehicleWish = {
  title: 'Ormvik PK3 post van',
  parameters: PK3,
  buses: [
    { name: 'can0', bitrate: 500_000, dataBitrate: null },
    { name: 'can1', bitrate: 250_000, dataBitrate: null },
  ],
  roles: ['inverter', 'battery', 'vehicle-control', 'brake', 'charger', 'body'],
  habits: {
    inverter: { order: 'big', guard: crcGuard, extended: false, noData: true, negative: 'signed' },
    battery: {
      order: 'big',
      guard: { ...crcGuard, kind: 'sum', counter: { length: 4, max: 15, step: 1, every: 1 } },
      extended: false,
      negative: 'offset',
      noData: true,
    },
    'vehicle-control': {
      order: 'little',
      guard: { ...crcGuard, kind: 'crc8-data-id' },
      extended: false,
      negative: 'signed',
    },
    brake: {
      order: 'big',
      guard: { ...crcGuard, kind: 'xor', share: 0.7, counter: { length: 4, max: 15, step: 1, every: 1 } },
      extended: false,
      noData: false,
    },
    charger: { order: 'little', guard: { ...crcGuard, kind: 'none' }, extended: true, noData: true, filler: 1 },
    body: { order: 'mixed', guard: { ...crcGuard, kind: 'counter' }, extended: false, noData: false },
  },
  timing: {
    inverter: clock(10, -31.4, -0.6, 26),
    battery: clock(10, 12.6, 0.4, 55),
    'vehicle-control': clock(10, 0, 0.2, 34),
    brake: clock(10, 44.1, -0.3, 18),
    charger: clock(20, -12.9, 0.9, 240),
    body: clock(10, -58.2, 0.5, 330),
  },
  periods: {
    inverter_status: 10,
    inverter_electric: 10,
    phase_current: 20,
    inverter_limits: 50,
    inverter_temperatures: 100,
    pack_state: 10,
    pack_contactors: 20,
    pack_limits: 50,
    cell_voltages: 100,
    pedals: 10,
    drive_request: 10,
    torque_limits: 20,
    vehicle_state: 100,
    drive_echo: 50,
    wheel_speeds: 10,
    brake_state: 20,
    body_motion: 20,
    steering: 20,
  },
  scales: {
    motor_speed: 0.5,
    torque: 1 / 8,
    accelerator: 100 / 255,
    pack_voltage: 0.1,
    pack_current: 0.1,
    vehicle_speed: 0.01,
    brake_pressure: 0.25,
    torque_request: 0.1,
  },
  identifiers: {
    inverter_status: 0x1f4,
    inverter_electric: 0x1f5,
    phase_current: 0x1f6,
    inverter_limits: 0x2a0,
    inverter_temperatures: 0x2a1,
    inverter_event: 0x5d2,
    inverter_identity: 0x4f0,
    pack_state: 0x140,
    pack_contactors: 0x141,
    pack_limits: 0x142,
    cell_voltages: 0x260,
    cell_extremes: 0x261,
    pack_temperatures: 0x262,
    pack_energy: 0x480,
    pack_insulation: 0x481,
    pedals: 0x0d2,
    drive_request: 0x110,
    torque_limits: 0x1a0,
    vehicle_state: 0x320,
    drive_echo: 0x321,
    cooling_request: 0x3f0,
    key_event: 0x610,
    heater: 0x3e1,
    coolant: 0x3e2,
    wheel_speeds: 0x0c0,
    brake_state: 0x0c2,
    body_motion: 0x0c6,
    wheel_pulses: 0x2e0,
    steering: 0x0c4,
    body_switches: 0x220,
    lamps: 0x340,
    supply: 0x341,
    doors: 0x342,
    odometer: 0x4a0,
    clock: 0x4a1,
    display: 0x350,
    charger_limits: 0x12c40018,
    mains: 0x12c41018,
    charge_session: 0x12c42018,
    charger_event: 0x12c4f018,
  },
};

/** The demo shows the usual; what is rare is left to the vehicles of the scorecards. */
const NOTHING_RARE = { splits: false, guardsSomePages: false };

export function makePostVan(seed: number = DEMO_SEED): Vehicle {
  const habits = Object.fromEntries(
    Object.entries(WISH.habits ?? {}).map(([role, wanted]) => [role, { ...wanted, ...NOTHING_RARE }]),
  );
  return makeVehicle(seed, PROFILES.plain, { ...WISH, habits });
}
