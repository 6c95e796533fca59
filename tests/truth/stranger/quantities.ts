/** What there is to show in a stranger's vehicle: range in its unit, sensor noise, and what sort of thing it is. */
export interface Quantity {
  readonly low: number;
  readonly high: number;
  /** Standard deviation of a usual sensor's noise, in the unit of the range. */
  readonly noise: number;
  /** `exact` ones are counted, never measured. */
  readonly sort: 'number' | 'exact' | 'states' | 'flag';
  readonly states: number;
  /** Shown with few bits. */
  readonly coarse: boolean;
  /** Fields of one text are tied so closely that no capture need tell them apart. */
  readonly kin: string | null;
}

const number = (low: number, high: number, noise: number, more: Partial<Quantity> = {}): Quantity => ({
  low,
  high,
  noise,
  sort: 'number',
  states: 0,
  coarse: false,
  kin: null,
  ...more,
});
const exact = (high: number, kin: string | null = null): Quantity => number(0, high, 0, { sort: 'exact', kin });
const states = (count: number, kin: string | null = null): Quantity =>
  number(0, 15, 0, { sort: 'states', states: count, kin });
const flag = (kin: string | null = null): Quantity => number(0, 1, 0, { sort: 'flag', kin });
const coarse = (low: number, high: number, noise: number, kin: string | null = null): Quantity =>
  number(low, high, noise, { coarse: true, kin });

const road = { kin: 'road speed' };

export const QUANTITIES = {
  speed: number(0, 180, 0.02, road),
  wheelFrontLeft: number(0, 180, 0.08, road),
  wheelFrontRight: number(0, 180, 0.08, road),
  wheelRearLeft: number(0, 180, 0.08, road),
  wheelRearRight: number(0, 180, 0.08, road),
  turns: number(-1000, 12000, 2, road),
  torque: number(-200, 300, 0.3),
  torqueAsked: number(-200, 300, 0),
  pedal: number(0, 100, 0.05),
  brake: number(0, 120, 0.1),
  steering: number(-600, 600, 0.04),
  yaw: number(-60, 60, 0.15),
  accelerationAlong: number(-10, 10, 0.06),
  accelerationAcross: number(-10, 10, 0.06),
  volts: number(200, 450, 0.2),
  amps: number(-300, 500, 0.4),
  charge: coarse(0, 100, 0, 'charge'),
  motorTemperature: coarse(-40, 160, 0.05, 'motor heat'),
  inverterTemperature: coarse(-40, 120, 0.05),
  cellTemperature: coarse(-40, 80, 0.02, 'motor heat'),
  airTemperature: coarse(-40, 60, 0),
  boardVolts: coarse(0, 18, 0.03, 'key'),
  pressure: number(0, 500, 0.6),
  chargeLimit: coarse(0, 150, 0, 'charge'),
  dischargeLimit: coarse(0, 200, 0, 'charge'),
  odometer: exact(400000),
  seconds: exact(1e9, 'time'),
  tenths: exact(1e9, 'time'),
  energy: exact(1e6),
  gear: states(4, 'key'),
  mode: states(6, 'key'),
  fan: states(8),
  wiper: states(3),
  braking: flag('brake'),
  ready: flag('key'),
  doorLeft: flag(),
  doorRight: flag(),
  belt: flag(),
  lampLeft: flag(),
  lampRight: flag(),
  moving: flag('road speed'),
  fault: flag(),
  pumpOn: flag(),
  key: flag('key'),
} as const satisfies Record<string, Quantity>;

export type QuantityName = keyof typeof QUANTITIES;
export const QUANTITY_NAMES = Object.keys(QUANTITIES) as QuantityName[];

/** Counted things have no sign. */
export const isSigned = (name: QuantityName): boolean =>
  QUANTITIES[name].low < 0 && QUANTITIES[name].sort === 'number' && !QUANTITIES[name].coarse;
