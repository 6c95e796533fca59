/** Drives of the demo's simulated vehicle with the truth about their payloads. */
import { PROFILES, type ProfileName } from '../../src/demo/profiles.ts';
import type { TrueField, TrueFrame } from '../../src/demo/true-frame.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { findStream } from '../../src/frames/table.ts';
import type { MapFrame, When } from '../../src/map/schema.ts';
import type { KnownChecksum, KnownDrive, KnownField, KnownFrame, KnownStream, Presence } from './fields-truth.ts';
import { makeSample, type Sample } from './support/vehicles.ts';

const NEVER = { place: { lsb: { byte: 0, bit: 0 }, length: 1, order: 'little' }, values: [] } as const;

/** A condition by selector names, as one by their places. */
export function presenceOf(when: When | undefined, selectors: MapFrame['selectors']): Presence {
  return Object.entries(when ?? {}).map(([name, values]) => {
    const selector = selectors.find((each) => each.name === name);
    return selector ? { place: selector as Placement, values } : NEVER;
  });
}

function modelOf(field: TrueField | undefined): string {
  if (!field) return 'other';
  return field.source.from === 'physics' ? field.source.quantity : field.source.from;
}

/** Quantities that the simulated vehicle makes from another by a factor, or keeps equal to it. */
const EQUAL: Readonly<Record<string, string>> = {
  accelerator_second_track: 'accelerator',
  brake_lamp: 'brake_pressed',
};

/** Measured apart and tied by mechanics, by cells in series, by a closed contactor or by one logical condition: alike on most drives. */
const KIN: readonly (readonly string[])[] = [
  [
    'motor_speed',
    'vehicle_speed',
    'display_speed',
    'wheel_speed_front_left',
    'wheel_speed_front_right',
    'wheel_speed_rear_left',
    'wheel_speed_rear_right',
  ],
  ['pack_voltage', 'dc_link_voltage', 'cell_voltage_low', 'cell_voltage_high'],
  ['state_of_charge', 'energy_left', 'range_left'],
  ['odometer', 'trip'],
  ['clock_second', 'up_time', 'clock_minute'],
  ['drive_fault', 'pack_fault', 'inverter_fault', 'warning_lamp'],
  ['accelerator', 'accelerator_pressed'],
  ['contactor_state', 'contactor_request', 'contactor_negative', 'contactor_positive', 'precharge_active'],
  ['inverter_state', 'inverter_ready', 'drive_allowed', 'vehicle_mode', 'selector'],
];

/** A copy with an error of its own (one cell of many) is kin of what it was made from. */
function shownBy(field: TrueField | undefined): Pick<KnownField, 'quantity' | 'kin' | 'blurred'> {
  if (field?.source.from === 'since-wake') return { quantity: null, kin: 'since wake', blurred: false };
  if (field?.source.from !== 'physics') return { quantity: null, kin: null, blurred: false };
  const { quantity: name, bias } = field.source;
  const quantity = EQUAL[name] ?? name;
  const kin = KIN.find((names) => names.includes(quantity))?.[0] ?? quantity;
  return { quantity: bias === 0 ? quantity : null, kin, blurred: false };
}

const kindOf = (method: string): KnownChecksum['kind'] => (method === 'mac' || method === 'unsolved' ? method : 'rule');

function knownFrame({ map, fields }: TrueFrame): KnownFrame {
  const on = (when: When | undefined): Presence => presenceOf(when, map.selectors);
  return {
    fields: map.signals.map((signal) => {
      const field = fields.find(({ name }) => name === signal.name);
      const { coding, kind } = signal;
      return {
        place: signal as Placement,
        on: on(signal.when),
        coding,
        kind,
        model: modelOf(field),
        ...shownBy(field),
      };
    }),
    counters: map.counters.map((counter) => ({ ...counter, place: counter as Placement, on: on(counter.when) })),
    checksums: map.checksums.map((checksum) => ({
      place: checksum as Placement,
      on: on(checksum.when),
      kind: kindOf(checksum.method),
      model: [checksum.method, checksum.width ?? checksum.length, checksum.poly ?? ''].join(' '),
    })),
    selectors: map.selectors.map((selector) => ({ place: selector as Placement, on: on(selector.when) })),
    cipher: map.unclaimed
      .filter(({ reason }) => reason === 'cipher' || reason === 'noise')
      .map((part) => part as Placement),
  };
}

function streamsOf({ vehicle, table }: Sample): KnownStream[] {
  return vehicle.frames.flatMap((frame) => {
    const { id, extended, map, diagnostic } = frame;
    const stream = findStream(table, { bus: map.bus, id, extended, direction: 'received' });
    return stream && diagnostic === null ? [{ frame: knownFrame(frame), stream }] : [];
  });
}

/** Both drives of one vehicle, with bursts of lost frames. */
export function demoDrive(profile: ProfileName, seed: number, longestS: number): KnownDrive {
  const durationS = Math.min(longestS, PROFILES[profile].durationS);
  const drive = (number: number): KnownStream[] =>
    streamsOf(
      makeSample(profile, seed, { drive: number, shape: { durationS }, logger: { lossBursts: 6, lossMost: 20 } }),
    );
  return { name: `demo ${profile} ${seed}`, streams: drive(0), again: () => drive(1) };
}
