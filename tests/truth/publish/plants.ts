/**
 * Ways of putting a number into frames, written for the scorecard alone and apart from the code that finds them: text and packed decimals in one frame, over pages,
 * over identifiers, in long messages whole and in part, backward, in six and seven bits, between the bits of a page's number, and in binary beside a text.
 */
import type { Random } from '../../../src/kit/random.ts';
import { drawDigits, drawSerial, drawVehicleNumber } from './numbers.ts';

/** Payloads that one identifier sends in turn. taken: [payloads][bytes] bits of the number. */
export interface PlantedFrames {
  readonly payloads: readonly Uint8Array[];
  readonly taken: readonly Uint8Array[];
  /** Sent once, as an answer is; else over and over. */
  readonly once: boolean;
  /** Bytes in front that number pages: a guard may not stand there. */
  readonly index: { readonly byte: number; readonly mask: number } | null;
  /** Bytes behind that are free for a counter and a checksum. */
  readonly spare: number;
  readonly transport: boolean;
}

export interface Plant {
  readonly way: string;
  readonly secret: string;
  /** One for each identifier, which follow each other. */
  readonly frames: readonly PlantedFrames[];
  /** The number is told by another plant; its own packing shows nothing. */
  readonly needs: string | null;
}

const bytesOf = (text: string): number[] => [...text].map((character) => character.charCodeAt(0));

interface Shape {
  readonly once?: boolean;
  readonly index?: PlantedFrames['index'];
  readonly spare?: number;
  readonly transport?: boolean;
}

function framesOf(
  payloads: readonly (readonly number[])[],
  taken: readonly (readonly number[])[],
  shape: Shape,
): PlantedFrames {
  const { once = false, index = null, spare = 0, transport = false } = shape;
  return {
    payloads: payloads.map((bytes) => Uint8Array.from(bytes)),
    taken: taken.map((bits) => Uint8Array.from(bits)),
    once,
    index,
    spare,
    transport,
  };
}

const all = (count: number): number[] => Array.from({ length: count }, () => 255);
const none = (count: number): number[] => Array.from({ length: count }, () => 0);
const chunks = <T>(items: readonly T[], size: number): T[][] =>
  Array.from({ length: Math.ceil(items.length / size) }, (_, at) => items.slice(at * size, (at + 1) * size));

/** Values over pages: a byte that numbers them, then so many bytes of the number, then spare ones. */
function paged(values: readonly number[], random: Random, guarded: boolean, own = all(values.length)): PlantedFrames {
  const spare = guarded ? 2 : random.below(2);
  const first = random.pick([0, 1, 0x10, 0x80]);
  const pages = chunks(values, 7 - spare);
  const payloads = pages.map((page, at) => [first + at, ...page, ...none(7 - spare - page.length), ...none(spare)]);
  const taken = chunks(own, 7 - spare).map((page) => [0, ...page, ...none(7 - page.length)]);
  return framesOf(payloads, taken, { index: { byte: 0, mask: 255 }, spare });
}

/** Digits two a byte, the first in the high or low half; an odd one is alone in its byte with a zero before it. */
function packed(digits: string, lowFirst: boolean): number[] {
  const even = digits.length % 2 ? `0${digits}` : digits;
  return chunks([...even].map(Number), 2).map(([one = 0, other = 0]) =>
    lowFirst ? one | (other << 4) : (one << 4) | other,
  );
}

/** Bits of the packed digits: not those of the zero before an odd one. */
function packedBits(digits: string, lowFirst: boolean): number[] {
  const bits = all(Math.ceil(digits.length / 2));
  if (digits.length % 2) bits[0] = lowFirst ? 0xf0 : 0x0f;
  return bits;
}

/** Bits one behind the other into pages whose number has so many bits at the top of the first byte. */
function bitsOverPages(bits: readonly number[], indexBits: number): PlantedFrames {
  const room = 64 - indexBits;
  const pages = chunks(bits, room);
  const bytesOfBits = (row: readonly number[]): number[] =>
    chunks(row, 8).map((byte) => byte.reduce((value, bit) => value * 2 + bit, 0));
  const indexOf = (at: number): number[] =>
    Array.from({ length: indexBits }, (_, bit) => (at >> (indexBits - 1 - bit)) & 1);
  const padded = (row: readonly number[]): number[] => [...row, ...none(room - row.length)];
  const mask = 255 & ~(2 ** (8 - indexBits) - 1);
  return framesOf(
    pages.map((page, at) => bytesOfBits([...indexOf(at), ...padded(page)])),
    pages.map((page) => bytesOfBits([...none(indexBits), ...padded(page.map(() => 1))])),
    { index: { byte: 0, mask } },
  );
}

const bitsOf = (codes: readonly number[], width: number): number[] =>
  codes.flatMap((code) => Array.from({ length: width }, (_, bit) => (code >> (width - 1 - bit)) & 1));

/** ISO 15765-2: a first frame, then consecutive ones; `from` leaves out so many frames at the beginning. head: bytes before the number. */
function transported(head: readonly number[], text: string, from: number): PlantedFrames {
  const bytes = [...head, ...bytesOf(text)];
  const isOwn = bytes.map((_, at) => (at >= head.length ? 255 : 0));
  const rest = chunks(bytes.slice(6), 7);
  const restOwn = chunks(isOwn.slice(6), 7);
  const payloads = [
    [0x10 | (bytes.length >> 8), bytes.length & 255, ...bytes.slice(0, 6)],
    ...rest.map((part, at) => [0x20 | ((at + 1) & 15), ...part, ...none(7 - part.length)]),
  ];
  const taken = [[0, 0, ...isOwn.slice(0, 6)], ...restOwn.map((part) => [0, ...part, ...none(7 - part.length)])];
  return framesOf(payloads.slice(from), taken.slice(from), { once: true, transport: true });
}

const secretOf = (random: Random): string => (random.next() < 0.5 ? drawVehicleNumber(random) : drawSerial(random));

export type Way = (random: Random, guarded: boolean) => Omit<Plant, 'way'>;
const plant = (secret: string, ...frames: PlantedFrames[]): Omit<Plant, 'way'> => ({ secret, frames, needs: null });

function overIdentifiers(secret: string, spare: number): Omit<Plant, 'way'> {
  const parts = chunks(bytesOf(secret), 8 - spare);
  return plant(
    secret,
    ...parts.map((part) =>
      framesOf([[...part, ...none(8 - part.length)]], [[...all(part.length), ...none(8 - part.length)]], { spare }),
    ),
  );
}

export const WAYS: Readonly<Record<string, Way>> = {
  'text in a frame': (random, guarded) => {
    const secret = secretOf(random);
    const length = secret.length <= 16 ? 24 : 32;
    const at = random.below(3);
    const before = Array.from({ length: at }, () => random.below(20));
    const after = none(length - at - secret.length);
    return plant(
      secret,
      framesOf([[...before, ...bytesOf(secret), ...after]], [[...none(at), ...all(secret.length), ...after]], {
        spare: guarded ? 2 : 0,
      }),
    );
  },
  'text over pages': (random, guarded) => {
    const secret = secretOf(random);
    return plant(secret, paged(bytesOf(secret), random, guarded));
  },
  'text over identifiers': (random, guarded) => overIdentifiers(drawVehicleNumber(random), guarded ? 2 : 0),
  'digits in a frame': (random) => {
    const secret = drawDigits(random, 12, 16);
    const bytes = packed(secret, false);
    return plant(
      secret,
      framesOf([[...bytes, ...none(8 - bytes.length)]], [[...packedBits(secret, false), ...none(8 - bytes.length)]], {
        spare: 8 - bytes.length >= 2 ? 2 : 0,
      }),
    );
  },
  'digits over pages': (random, guarded) => {
    const secret = drawDigits(random, 18, 26);
    return plant(secret, paged(packed(secret, false), random, guarded, packedBits(secret, false)));
  },
  'digits low half first': (random, guarded) => {
    const secret = drawDigits(random, 18, 26);
    return plant(secret, paged(packed(secret, true), random, guarded, packedBits(secret, true)));
  },
  'text backward': (random, guarded) => {
    const secret = secretOf(random);
    return plant(secret, paged(bytesOf(secret).toReversed(), random, guarded));
  },
  'answer in diagnostics': (random) => {
    const isVehicle = random.next() < 0.5;
    const secret = isVehicle ? drawVehicleNumber(random) : drawSerial(random);
    const head = isVehicle
      ? random.pick([
          [0x62, 0xf1, 0x90],
          [0x49, 0x02, 0x01],
        ])
      : [0x62, 0xf1, 0x8c];
    return plant(secret, transported(head, secret, 0));
  },
  'rest of an answer': (random) => {
    const secret = drawVehicleNumber(random);
    return plant(secret, transported([0x62, 0xf1, 0x90], secret, 1));
  },
  'seven bits a character': (random) => {
    const secret = drawVehicleNumber(random);
    return plant(secret, bitsOverPages(bitsOf(bytesOf(secret), 7), 4));
  },
  'six bits a character': (random) => {
    const secret = drawVehicleNumber(random);
    const style = random.below(3);
    const codes = bytesOf(secret).map((code) => {
      if (style === 0) return code - 32;
      if (style === 1) return code & 63;
      return code < 58 ? code - 48 : code - 55;
    });
    return plant(secret, bitsOverPages(bitsOf(codes, 6), 4));
  },
  'between the bits of pages': (random) => {
    const secret = secretOf(random);
    return plant(secret, bitsOverPages(bitsOf(bytesOf(secret), 8), 2 + random.below(4)));
  },
  'binary beside a text': (random) => {
    const secret = drawDigits(random, 9, 9);
    const value = Number(secret);
    const order = random.next() < 0.5 ? [24, 16, 8, 0] : [0, 8, 16, 24];
    const at = random.below(4);
    const bytes = [...none(at), ...order.map((shift) => (value >>> shift) & 255), ...none(4 - at)];
    const digits = bytesOf(secret);
    return plant(
      secret,
      framesOf([bytes], [[...none(at), ...all(4), ...none(4 - at)]], {}),
      framesOf(
        [
          [0, ...digits.slice(0, 7)],
          [1, ...digits.slice(7), ...none(5)],
        ],
        [
          [0, ...all(7)],
          [0, ...all(2), ...none(5)],
        ],
        { index: { byte: 0, mask: 255 } },
      ),
    );
  },
  'numbered messages': (random) => {
    const secret = drawVehicleNumber(random);
    const parts = chunks(bytesOf(secret), 7);
    const payloads = parts.map((part, at) => [at + 1, ...part, ...Array.from({ length: 7 - part.length }, () => 255)]);
    return plant(
      secret,
      framesOf(
        payloads,
        parts.map((part) => [0, ...all(part.length), ...none(7 - part.length)]),
        { once: true, transport: true },
      ),
    );
  },
};
