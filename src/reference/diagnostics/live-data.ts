/**
 * Values of SAE J1979 service 01 with their units: the common parameters whose meaning the standard fixes, so that a reading of them needs no guess.
 * Formulas as in the published tables of SAE J1979 / ISO 15031-5; A is the first data byte.
 */
export interface LiveValue {
  readonly name: string;
  readonly unit: string;
  /** Data bytes. */
  readonly bytes: number;
  read(data: Uint8Array): number;
}

const byte = (data: Uint8Array, at: number): number => data[at] as number;
const word = (data: Uint8Array): number => 256 * byte(data, 0) + byte(data, 1);

const percent = (name: string): LiveValue => ({
  name,
  unit: '%',
  bytes: 1,
  read: (data) => (byte(data, 0) * 100) / 255,
});
const celsius = (name: string): LiveValue => ({ name, unit: 'degC', bytes: 1, read: (data) => byte(data, 0) - 40 });

export const LIVE_VALUES: ReadonlyMap<number, LiveValue> = new Map<number, LiveValue>([
  [0x04, percent('calculated load')],
  [0x05, celsius('coolant temperature')],
  [0x0c, { name: 'engine speed', unit: 'rpm', bytes: 2, read: (data) => word(data) / 4 }],
  [0x0d, { name: 'vehicle speed', unit: 'km/h', bytes: 1, read: (data) => byte(data, 0) }],
  [0x0f, celsius('intake air temperature')],
  [0x11, percent('throttle position')],
  [0x1f, { name: 'time since start', unit: 's', bytes: 2, read: word }],
  [0x2f, percent('fuel level')],
  [0x31, { name: 'distance since codes were cleared', unit: 'km', bytes: 2, read: word }],
  [0x33, { name: 'barometric pressure', unit: 'kPa', bytes: 1, read: (data) => byte(data, 0) }],
  [0x42, { name: 'control module voltage', unit: 'V', bytes: 2, read: (data) => word(data) / 1000 }],
  [0x46, celsius('ambient temperature')],
  [0x49, percent('accelerator pedal position D')],
  [0x4a, percent('accelerator pedal position E')],
  [0x4b, percent('accelerator pedal position F')],
  [0x5a, percent('relative accelerator pedal position')],
  [0x5b, percent('hybrid or EV battery charge')],
]);

/** Bytes of the support masks 00, 20, 40 ..., which no value is read from. */
const MASK_BYTES = 4;

/** Data bytes of a parameter where known. */
export const liveBytes = (pid: number): number | null =>
  pid % 0x20 === 0 ? MASK_BYTES : (LIVE_VALUES.get(pid)?.bytes ?? null);
