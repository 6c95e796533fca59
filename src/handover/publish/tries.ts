/** How many places each test looked at, and how much a candidate must speak against chance for that. */

/** Different contents that each test looked at: the same bits read in two ways are one. */
export interface Tries {
  readonly vehicle: number;
  /** Vehicle numbers of six bits a character: half of all codes are of their alphabet. */
  readonly sixBitVehicle: number;
  /** The same in any other order than the usual one. */
  readonly oddSixBitVehicle: number;
  readonly serial: number;
  /** Characters that begin within bytes, or have seven bits: far rarer. */
  readonly oddSerial: number;
  /** Stretches of mixed still half bytes of one frame in the usual order; over several; in any other order; each counted apart as some are far more usual. */
  readonly digits: number;
  readonly longDigits: number;
  /** The same with the low half of each byte first. */
  readonly swappedDigits: number;
  readonly oddDigits: number;
}

export class TriesCount implements Tries {
  readonly #seen = new Map<keyof Tries, Set<number>>();

  add(test: keyof Tries, codes: ArrayLike<number>, from: number, to: number): void {
    let hash = 0x811c9dc5;
    for (let at = from; at < to; at++) hash = Math.imul(hash ^ (codes[at] as number), 0x01000193);
    const seen = this.#seen.get(test) ?? new Set();
    this.#seen.set(test, seen.add(hash));
  }

  #of(test: keyof Tries): number {
    return this.#seen.get(test)?.size ?? 0;
  }

  get vehicle(): number {
    return this.#of('vehicle');
  }
  get sixBitVehicle(): number {
    return this.#of('sixBitVehicle');
  }
  get oddSixBitVehicle(): number {
    return this.#of('oddSixBitVehicle');
  }
  get serial(): number {
    return this.#of('serial');
  }
  get oddSerial(): number {
    return this.#of('oddSerial');
  }
  get digits(): number {
    return this.#of('digits');
  }
  get longDigits(): number {
    return this.#of('longDigits');
  }
  get swappedDigits(): number {
    return this.#of('swappedDigits');
  }
  get oddDigits(): number {
    return this.#of('oddDigits');
  }
}

/** Chance finds to be expected over a whole capture, by test: together one in three captures. */
const CHANCE: Readonly<Record<keyof Tries, number>> = {
  vehicle: 1 / 50,
  sixBitVehicle: 1 / 32,
  oddSixBitVehicle: 1 / 32,
  serial: 1 / 50,
  oddSerial: 1 / 400,
  digits: 1 / 10,
  longDigits: 1 / 10,
  swappedDigits: 1 / 10,
  oddDigits: 1 / 16,
};

/** A capture of few identifiers is no better evidence: of others like it, some would show the same. */
const TRIES_LEAST = 16;

/** Bits that a candidate needs. */
export const bitsNeeded = (test: keyof Tries, tries: Tries): number =>
  Math.log2(Math.max(TRIES_LEAST, tries[test])) - Math.log2(CHANCE[test]);
