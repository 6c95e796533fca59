/**
 * One network-management frame a module: its node number, a bit that is set just after waking, the rest filled. Hasty at
 * first, silent some time before the module sleeps (common practice, no source).
 */
import type { Identifiers } from '../identifiers.ts';
import type { Layout } from '../layout.ts';
import { NO_GUARD } from '../guards.ts';
import {
  bitAddress,
  plainSignal,
  type MapPiece,
  type TrueField,
  type TrueFrame,
  type VehicleModule,
} from '../true-frame.ts';
import { addressOf, mapFrame, ORDINARY, type Heading } from './frames.ts';
import { roundToTick, type Making } from './making.ts';

const PERIOD_MS = 640;
/** For so long after waking the bit is set and the frame comes hastily. */
export const HASTE_MS = 400;
const JUST_AWAKE: MapPiece = { lsb: bitAddress(1, 4), length: 1, order: 'little' };

const field: TrueField = {
  name: 'just_awake',
  source: { from: 'since-wake', untilMs: HASTE_MS },
  delayMs: 0,
  refreshMs: 0,
  codes: [0, 1],
  noData: null,
  page: null,
};

function layoutOf(node: number): Layout {
  const base = Uint8Array.of(node, 0x01, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff);
  const filling = [2, 3, 4, 5, 6, 7].map(
    (byte) => ({ lsb: bitAddress(byte, 0), length: 8, order: 'little', reason: 'filling', value: 0xff }) as const,
  );
  return {
    length: 8,
    base,
    fields: [field],
    selectors: [],
    pages: [],
    guard: NO_GUARD,
    noise: [],
    signals: [
      {
        ...JUST_AWAKE,
        name: field.name,
        coding: 'unsigned',
        kind: 'flag',
        role: 'state',
        ...plainSignal(),
      },
    ],
    unclaimed: [
      { lsb: bitAddress(0, 0), length: 8, order: 'little', reason: 'constant', value: node },
      { lsb: bitAddress(1, 0), length: 4, order: 'little', reason: 'constant', value: 1 },
      { lsb: bitAddress(1, 5), length: 3, order: 'little', reason: 'idle', value: 0 },
      ...filling,
    ],
  };
}

export function makeNetworkFrame(making: Making, module: VehicleModule, index: number): TrueFrame {
  const { extended } = module.habits;
  const node = 0x10 + index;
  const identifiers = making.identifiers[module.bus] as Identifiers;
  const id = identifiers.reserve(extended ? 0x18ff7000 + addressOf(index) : 0x600 + index, extended);
  const heading: Heading = {
    id,
    extended,
    fd: false,
    name: `network_${module.role.replace('-', '_')}`,
    kind: 'periodic',
    periodMs: roundToTick(PERIOD_MS, module.habits.timing.tickMs),
  };
  const layout = layoutOf(node);
  return {
    ...ORDINARY,
    ...heading,
    map: mapFrame(making, module, heading, layout),
    module: index,
    bus: module.bus,
    topics: [],
    order: 99,
    phase: 0,
    fields: layout.fields,
    pages: [],
    base: layout.base,
    noise: [],
    tag: null,
    network: true,
  };
}
