/** What a person does with the vehicle: key, lever, the speed wanted, the plug. Common practice, no source. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, integer } from './draw.ts';

export const GEARS = { park: 0, reverse: 1, neutral: 2, drive: 3 } as const;
export type Key = 'off' | 'on' | 'ready';

export interface Leg {
  readonly fromS: number;
  readonly key: Key;
  readonly gear: number;
  /** Metres a second, negative backwards. */
  readonly wanted: number;
  readonly plugged: boolean;
}

export type TripKind = 'usual' | 'standing';

class Writer {
  readonly legs: Leg[] = [];
  private nowS = 0;
  private now: Omit<Leg, 'fromS'> = { key: 'off', gear: GEARS.park, wanted: 0, plugged: false };
  constructor(
    private readonly random: Random,
    private readonly durationS: number,
  ) {}

  get isOver(): boolean {
    return this.nowS >= this.durationS;
  }

  /** Changes something and lets so long pass. */
  then(change: Partial<Omit<Leg, 'fromS'>>, lowS: number, highS: number): void {
    this.now = { ...this.now, ...change };
    this.legs.push({ fromS: this.nowS, ...this.now });
    this.nowS += this.random.between(lowS, highS);
  }

  backOut(): void {
    this.then({ gear: GEARS.reverse }, 0.6, 2);
    this.then({ wanted: -this.random.between(0.8, 2.5) }, 2, 5);
    this.then({ wanted: 0 }, 1.5, 3);
  }

  drive(legs: number): void {
    const { random } = this;
    if (chance(random, 0.4)) this.backOut();
    this.then({ gear: GEARS.drive }, 0.5, 2);
    for (let leg = 0; leg < legs && !this.isOver; leg++) {
      this.then({ wanted: random.between(3, 28) }, 4, 11);
      if (chance(random, 0.35)) this.then({ wanted: 0 }, 3, 8);
    }
    this.then({ wanted: 0 }, 5, 9);
    if (chance(random, 0.3)) this.backOut();
    this.then({ gear: GEARS.park }, 0.8, 3);
  }

  charge(): void {
    this.then({ plugged: true }, 8, 18);
    this.then({ plugged: false }, 1, 3);
  }
}

function standing(writer: Writer, random: Random): void {
  while (!writer.isOver) {
    writer.then({ key: 'on' }, 5, 25);
    if (chance(random, 0.5)) {
      writer.then({ key: 'ready' }, 4, 15);
      for (let move = integer(random, 0, 4); move > 0; move--) writer.then({ gear: integer(random, 0, 3) }, 0.6, 3);
      writer.then({ gear: GEARS.park }, 1, 4);
    }
    if (chance(random, 0.6)) writer.then({ key: 'off' }, 2, 8);
  }
}

/** Legs in order from 0 s on; the last holds to the end. */
export function writeItinerary(kind: TripKind, durationS: number, random: Random): readonly Leg[] {
  const writer = new Writer(random, durationS);
  const isShort = durationS < 60;
  writer.then({}, 0.5, isShort ? 1.5 : 4);
  if (kind === 'standing') standing(writer, random);
  while (!writer.isOver) {
    writer.then({ key: 'on' }, 1, isShort ? 2 : 5);
    writer.then({ key: 'ready' }, 1, 3);
    writer.drive(isShort ? integer(random, 1, 2) : integer(random, 1, 4));
    if (chance(random, 0.5)) writer.then({ key: 'on' }, 0.5, 3);
    writer.then({ key: 'off' }, 2, isShort ? 4 : 8);
    if (!isShort && chance(random, 0.6)) writer.charge();
  }
  return writer.legs;
}
