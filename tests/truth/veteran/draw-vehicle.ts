/** Draws up a vehicle: modules of some houses, and what each of them sends. */
import type { Random } from '../../../src/kit/random.ts';
import type { Sender } from './catalog.ts';
import { chance, integer, some, spread, weighted } from './draw.ts';
import { drawFrame, type FrameWish } from './draw-frame.ts';
import { longCheck } from './guard-style.ts';
import { drawHouse } from './house.ts';
import type { FrameLayout } from './layout.ts';
import { Menu } from './menu.ts';
import { drawMachine, type Machine } from './trip.ts';
import type { TripKind } from './itinerary.ts';

export interface VeteranCondition {
  readonly identifiers: readonly [least: number, most: number];
  readonly buses: number;
  /** Shares of frames. */
  readonly guarded: number;
  readonly keyed: number;
  readonly odd: number;
  readonly cipher: number;
  readonly paged: number;
  readonly extended: number;
  readonly fd: number;
  readonly durationS: number;
  readonly trip: TripKind;
}

export interface Module {
  readonly bus: string;
  readonly wakes: 'key' | 'key or plug' | 'always';
  readonly bootS: number;
  readonly afterRunS: number;
  readonly fillS: readonly [number, number];
  readonly frames: readonly FrameLayout[];
}

/** A gateway sends it again on another bus. */
export interface Forwarding {
  readonly bus: string;
  readonly delayS: number;
}

export interface Vehicle {
  readonly machine: Machine;
  readonly modules: readonly Module[];
  readonly forwarded: ReadonlyMap<FrameLayout, Forwarding>;
  /** Stamps are multiples of this. */
  readonly stampUs: number;
  /** Share of frames that the logger lost. */
  readonly lost: number;
}

const SENDERS: readonly Sender[] = [
  'controller',
  'inverter',
  'battery',
  'brakes',
  'body',
  'gateway',
  'cluster',
  'charger',
  'steering',
  'thermal',
];
const EXTRAS = 48;

/** Identifiers that differ; extended ones of one sender end alike. */
class Identifiers {
  private readonly given = new Set<number>();
  constructor(private readonly random: Random) {}

  next(isExtended: boolean, address: number): number {
    const { random } = this;
    for (;;) {
      const group = chance(random, 0.6) ? 0xff00 + random.below(256) : 0xf000 + random.below(0xf00);
      const id = isExtended ? (random.pick([3, 6, 6, 7]) << 26) | (group << 8) | address : 0x40 + random.below(0x6c0);
      if (this.given.has(id)) continue;
      this.given.add(id);
      return id >>> 0;
    }
  }
}

function kindFor(sender: Sender, condition: VeteranCondition, random: Random): FrameWish['kind'] {
  if (chance(random, condition.cipher)) return 'cipher';
  if (chance(random, condition.keyed)) return 'tagged';
  if (chance(random, condition.paged * (sender === 'battery' ? 2 : 1))) return 'paged';
  if (sender === 'brakes' && chance(random, 0.25)) return 'wheels';
  if ((sender === 'cluster' || sender === 'gateway') && chance(random, 0.12)) return 'clock';
  return 'usual';
}

const WAKES: Readonly<Partial<Record<Sender, Module['wakes']>>> = {
  body: 'always',
  gateway: 'always',
  battery: 'key or plug',
  charger: 'key or plug',
  controller: 'key or plug',
};

function forwardingsOf(modules: readonly Module[], buses: number, random: Random): Map<FrameLayout, Forwarding> {
  if (buses < 2) return new Map();
  const all = modules.flatMap(({ bus, frames }) => frames.map((frame) => ({ bus, frame })));
  return new Map(
    some(random, all, integer(random, 0, 4)).map(({ bus, frame }) => [
      frame,
      { bus: bus === 'can0' ? 'can1' : 'can0', delayS: spread(random, 0.0003, 0.005) },
    ]),
  );
}

export function drawVehicle(condition: VeteranCondition, random: Random): Vehicle {
  const machine = drawMachine(random.fork('machine'), EXTRAS);
  const count = integer(random, ...condition.identifiers);
  const isTrucks = chance(random, condition.extended * 0.6);
  const houses = Array.from({ length: integer(random, 2, 4) }, (_, at) =>
    drawHouse(random.fork(`house ${at}`), { guarded: condition.guarded, trucks: isTrucks && at > 0 }),
  );
  const senders = some(random, SENDERS, Math.min(SENDERS.length, Math.max(5, Math.round(count / 5))));
  const identifiers = new Identifiers(random.fork('identifiers'));
  const shares = senders.map(
    (_, at) => Math.floor(((at + 1) * count) / senders.length) - Math.floor((at * count) / senders.length),
  );
  const modules = senders.map((sender, at): Module => {
    const own = random.fork(`module ${at}`);
    const house = own.pick(houses);
    const menu = new Menu(house, sender, some(own, machine.extras, integer(own, 6, 12)));
    const [isExtended, isFd] = [chance(own, condition.extended), chance(own, condition.fd)];
    const longRule = longCheck(own);
    const frames = Array.from({ length: shares[at]! }, (_, frame) => {
      const id = identifiers.next(isExtended, 10 + at * 16);
      const kind = kindFor(sender, condition, own);
      return drawFrame({ id, isExtended, isFd, kind, odd: condition.odd, longRule }, menu, own.fork(`frame ${frame}`));
    });
    return {
      bus: `can${at % condition.buses}`,
      wakes:
        WAKES[sender] ??
        weighted(own, [
          [3, 'key'],
          [1, 'key or plug'],
        ] as const),
      bootS: spread(own, 0.02, 0.4),
      afterRunS: spread(own, 0.3, 6),
      fillS: house.fillS,
      frames,
    };
  });
  return {
    machine,
    modules,
    forwarded: forwardingsOf(modules, condition.buses, random.fork('gateway')),
    stampUs: random.pick([1, 1, 10, 100]),
    lost: chance(random, 0.25) ? spread(random, 1e-5, 1e-3) : 0,
  };
}
