/** Frames of the powertrain that a gateway copies to the other bus: same payload, a little later, sent by the gateway. */
import type { Identifiers } from '../identifiers.ts';
import type { TrueFrame, VehicleBus, VehicleModule } from '../true-frame.ts';
import type { Making } from './making.ts';

const RELAYED = 3;
const FASTEST_RELAYED_MS = 20;

function copyOf(making: Making, frame: TrueFrame, at: number, gateway: number): TrueFrame {
  const sender = { group: (making.modules[gateway] as VehicleModule).letter, name: 'gateway', confidence: 1 };
  const relayOf = { bus: frame.map.bus, id: frame.map.id, extended: frame.extended };
  const map = { ...frame.map, bus: (making.buses[1] as VehicleBus).name, sender, role: 'other' as const, relayOf };
  return { ...frame, map, bus: 1, module: gateway, copyOf: at, relay: null };
}

/** Needs a second bus; adds the copies at the end. */
export function addRelays(making: Making, frames: readonly TrueFrame[]): TrueFrame[] {
  if (making.buses.length < 2) return [...frames];
  const gateway = making.modules.findIndex(({ role }) => role === 'body');
  const random = making.random.fork('gateway');
  const elsewhere = making.identifiers[1] as Identifiers;
  const able = frames.flatMap((frame, at) =>
    frame.bus === 0 &&
    !frame.network &&
    !frame.fd &&
    frame.periodMs >= FASTEST_RELAYED_MS &&
    !elsewhere.has(frame.id, frame.extended)
      ? [at]
      : [],
  );
  const result = [...frames];
  for (const at of random.shuffle(able).slice(0, RELAYED)) {
    const frame = result[at] as TrueFrame;
    const relay = { bus: 1, delayUs: random.between(180, 1600), copy: result.length };
    result.push(copyOf(making, frame, at, gateway));
    result[at] = { ...frame, relay };
  }
  return result;
}
