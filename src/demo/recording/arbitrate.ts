/**
 * The buses: of all frames waiting when a bus falls idle, the one with the most dominant identifier goes first (ISO 11898-1),
 * the others queue. A gateway takes some frames from one bus and hands them to the other a little later. Buses are run
 * together, always the one whose next frame starts first, so that cause comes before effect.
 */
import type { Random } from '../../kit/random.ts';
import type { TrueFrame, Vehicle } from '../true-frame.ts';
import type { Requests } from './requests.ts';
import { WireTimes } from './wire-time.ts';

/** Frames as they ended on the wire, in time order over all buses. */
export class Sent {
  count = 0;
  timeUs: Float64Array;
  frame: Uint16Array;
  source: Requests[] = [];
  row: Uint32Array;
  constructor(size: number) {
    this.timeUs = new Float64Array(size);
    this.frame = new Uint16Array(size);
    this.row = new Uint32Array(size);
  }
  payloadOf(index: number): Uint8Array {
    return (this.source[index] as Requests).bytesOf(this.row[index] as number);
  }
}

/** Lower wins: base identifier first, then base format before extended, then the rest. */
export function arbitrationKey(id: number, extended: boolean): number {
  return extended ? Math.floor(id / 2 ** 18) * 2 ** 19 + 2 ** 18 + (id % 2 ** 18) : id * 2 ** 19;
}

interface Waiting {
  readonly key: number;
  readonly frame: number;
  readonly requests: Requests;
  readonly row: number;
}

class Bus {
  idleAtUs = 0;
  readonly waiting: Waiting[] = [];
  private readonly heads: { readonly requests: Requests; next: number }[];
  /** Relayed frames, in the order in which they are due. */
  readonly relayed: { readonly timeUs: number; readonly waiting: Waiting }[] = [];
  constructor(
    sources: readonly Requests[],
    private readonly keys: Float64Array,
  ) {
    this.heads = sources.map((requests) => ({ requests, next: 0 }));
  }

  private nextArrivalUs(): number {
    let soonest = this.relayed[0]?.timeUs ?? Infinity;
    for (const { requests, next } of this.heads) {
      if (next < requests.count) soonest = Math.min(soonest, requests.timeUs[next] as number);
    }
    return soonest;
  }

  /** When the next frame can start; Infinity when there is none. */
  nextStartUs(): number {
    return this.waiting.length > 0 ? this.idleAtUs : Math.max(this.idleAtUs, this.nextArrivalUs());
  }

  /** Takes in all that was handed over by then and removes the winner. */
  takeWinner(atUs: number): Waiting {
    for (const head of this.heads) {
      const { requests } = head;
      while (head.next < requests.count && (requests.timeUs[head.next] as number) <= atUs) {
        const frame = requests.frame[head.next] as number;
        this.waiting.push({ key: this.keys[frame] as number, frame, requests, row: head.next++ });
      }
    }
    while (this.relayed.length > 0 && (this.relayed[0] as { timeUs: number }).timeUs <= atUs) {
      this.waiting.push((this.relayed.shift() as { waiting: Waiting }).waiting);
    }
    let best = 0;
    for (let i = 1; i < this.waiting.length; i++) {
      if ((this.waiting[i] as Waiting).key < (this.waiting[best] as Waiting).key) best = i;
    }
    const winner = this.waiting[best] as Waiting;
    this.waiting.splice(best, 1);
    return winner;
  }

  relay(timeUs: number, waiting: Waiting): void {
    let at = this.relayed.length;
    while (at > 0 && (this.relayed[at - 1] as { timeUs: number }).timeUs > timeUs) at--;
    this.relayed.splice(at, 0, { timeUs, waiting });
  }
}

/** `sources`: the requests of each bus's senders. */
export function arbitrate(vehicle: Vehicle, sources: readonly (readonly Requests[])[], random: Random): Sent {
  const keys = Float64Array.from(vehicle.frames, ({ id, extended }) => arbitrationKey(id, extended));
  const buses = sources.map((requests) => new Bus(requests, keys));
  const wire = new WireTimes(vehicle);
  const sent = new Sent(roomFor(vehicle, sources));
  for (;;) {
    const starts = buses.map((bus) => bus.nextStartUs());
    const startUs = Math.min(...starts);
    if (startUs === Infinity) return sent;
    const bus = buses[starts.indexOf(startUs)] as Bus;
    const winner = bus.takeWinner(startUs);
    const payload = winner.requests.bytesOf(winner.row);
    bus.idleAtUs = startUs + wire.of(winner.frame, payload);
    keep(sent, bus.idleAtUs, winner);
    relayOn(vehicle, buses, winner, bus.idleAtUs, random);
  }
}

function roomFor(vehicle: Vehicle, sources: readonly (readonly Requests[])[]): number {
  const copies = vehicle.frames.some(({ relay }) => relay !== null) ? 2 : 1;
  return copies * sources.flat().reduce((sum, { count }) => sum + count, 0) + 1;
}

function keep(sent: Sent, timeUs: number, { frame, requests, row }: Waiting): void {
  sent.timeUs[sent.count] = timeUs;
  sent.frame[sent.count] = frame;
  sent.source.push(requests);
  sent.row[sent.count++] = row;
}

function relayOn(vehicle: Vehicle, buses: readonly Bus[], winner: Waiting, endUs: number, random: Random): void {
  const { relay } = vehicle.frames[winner.frame] as TrueFrame;
  if (!relay) return;
  const due = endUs + relay.delayUs * (1 + 0.06 * Math.abs(random.normal()));
  (buses[relay.bus] as Bus).relay(due, { ...winner, frame: relay.copy });
}
