/**
 * The logger's question for a current value and the answer of vehicle control: SAE J1979 service 01, answer 41, one
 * parameter a frame, on 7DF and 7E8. Every vehicle knows them; they are on the bus only when the logger asks.
 */
import type { MapFrame, MapSignal } from '../../map/schema.ts';
import type { QuantityName } from '../quantities.ts';
import { bitAddress, plainSignal, hex, type TrueFrame, type VehicleBus, type VehicleModule } from '../true-frame.ts';
import { ORDINARY } from './frames.ts';
import type { Making } from './making.ts';

const REQUEST_ID = 0x7df;
const REPLY_ID = 0x7e8;
export const REPLY_DELAY_MS = 5;

export interface Parameter {
  readonly pid: number;
  readonly quantity: QuantityName;
  readonly bytes: 1 | 2;
  readonly scale: number;
  readonly offset: number;
  readonly unit: string;
}

/** Formulas of SAE J1979 for common parameters. */
export const PARAMETERS: readonly Parameter[] = [
  { pid: 0x05, quantity: 'coolant_temperature', bytes: 1, scale: 1, offset: -40, unit: '°C' },
  { pid: 0x0c, quantity: 'motor_speed', bytes: 2, scale: 0.25, offset: 0, unit: 'rpm' },
  { pid: 0x0d, quantity: 'vehicle_speed', bytes: 1, scale: 1, offset: 0, unit: 'km/h' },
  { pid: 0x42, quantity: 'supply_voltage', bytes: 2, scale: 0.001, offset: 0, unit: 'V' },
  { pid: 0x49, quantity: 'accelerator', bytes: 1, scale: 100 / 255, offset: 0, unit: '%' },
  { pid: 0x5b, quantity: 'state_of_charge', bytes: 1, scale: 100 / 255, offset: 0, unit: '%' },
];

const PID_SELECTOR = { name: 'pid', lsb: bitAddress(2, 0), length: 8, order: 'little', confidence: 1 } as const;
const PADDING = 0x55;

function signalOf({ pid, quantity, bytes, scale, offset, unit }: Parameter): MapSignal {
  return {
    name: `reported_${quantity}`,
    lsb: bitAddress(2 + bytes, 0),
    length: 8 * bytes,
    order: bytes === 1 ? 'little' : 'big',
    coding: 'unsigned',
    kind: 'number',
    role: 'echo',
    ...plainSignal(),
    when: { pid: [pid] },
    scale,
    offset,
    unit,
    allowed: { min: offset, max: offset + scale * (2 ** (8 * bytes) - 1) },
  };
}

function mapOf(
  making: Making,
  id: number,
  name: string,
  more: Pick<MapFrame, 'sender' | 'timing' | 'signals'>,
): MapFrame {
  return {
    bus: (making.buses[0] as VehicleBus).name,
    id: hex(id),
    extended: false,
    length: 8,
    fd: false,
    name,
    role: 'other',
    rest: null,
    need: { verdict: 'untested', how: '' },
    counters: [],
    checksums: [],
    selectors: [{ ...PID_SELECTOR }],
    unclaimed: [],
    ...more,
  };
}

export function makeDiagnosticFrames(making: Making): TrueFrame[] {
  const module = making.modules.findIndex(({ role }) => role === 'vehicle-control');
  const { letter, name } = making.modules[module] as VehicleModule;
  const timing = { periodMs: null, jitterMs: null };
  const request = mapOf(making, REQUEST_ID, 'diagnostic_request', {
    sender: null,
    signals: [],
    timing: { kind: 'on-change', ...timing },
  });
  const reply = mapOf(making, REPLY_ID, 'diagnostic_reply', {
    sender: { group: letter, name, confidence: 1 },
    signals: PARAMETERS.map(signalOf),
    timing: { kind: 'reply', ...timing, replyTo: hex(REQUEST_ID), delayMs: REPLY_DELAY_MS },
  });
  const shared = {
    ...ORDINARY,
    module,
    bus: 0,
    extended: false,
    fd: false,
    topics: [],
    kind: 'on-change',
    periodMs: 0,
    order: 0,
    phase: 0,
    fields: [],
    pages: [],
    noise: [],
    tag: null,
  } as const;
  const base = new Uint8Array(8).fill(PADDING);
  return [
    { ...shared, map: request, id: REQUEST_ID, base, diagnostic: 'request' },
    { ...shared, map: reply, id: REPLY_ID, base, diagnostic: 'reply' },
  ];
}
