/** Known numbers in frames whatever else changes in them: each frame is looked through byte by byte, by the first three bytes of each piece. */
import { lengthAt, type Stream } from '../../frames/table.ts';
import type { Seen } from './known.ts';
import { bytePatterns, DIFFERENT_LEAST, type BytePattern } from './patterns.ts';
import type { MaskedByte } from './types.ts';

const PIECE_BYTES = 4;

interface Start {
  readonly number: number;
  readonly pattern: BytePattern;
  readonly first: number;
}

const keyAt = (bytes: Uint8Array, at: number): number =>
  ((bytes[at] as number) << 16) | ((bytes[at + 1] as number) << 8) | (bytes[at + 2] as number);

export class FrameScan {
  /** [2^21] a bit for each three bytes that begin a piece. */
  readonly #mayBegin = new Uint8Array(2 ** 21);
  readonly #starts = new Map<number, Start[]>();

  /** secrets: the numbers to look for. */
  constructor(secrets: readonly string[]) {
    secrets.forEach((secret, number) => {
      for (const pattern of bytePatterns(secret)) this.#addStarts(number, pattern);
    });
  }

  #addStarts(number: number, pattern: BytePattern): void {
    for (let first = 0; first + PIECE_BYTES <= pattern.was.length; first++) {
      const key = keyAt(pattern.was, first);
      this.#mayBegin[key >> 3]! |= 1 << (key & 7);
      this.#starts.set(key, [...(this.#starts.get(key) ?? []), { number, pattern, first }]);
    }
  }

  /** Each different piece at each place once. Linear in bytes. */
  inStream(stream: Stream): readonly Seen[] {
    const { payload, stride, count } = stream;
    const found = new Map<string, Seen>();
    if (stride < PIECE_BYTES || this.#starts.size === 0) return [];
    for (let row = 0; row < count; row++) {
      const length = lengthAt(stream, row);
      const from = row * stride;
      for (let byte = 0; byte + PIECE_BYTES <= length; byte++) {
        const key = keyAt(payload, from + byte);
        if (!((this.#mayBegin[key >> 3] as number) & (1 << (key & 7)))) continue;
        for (const start of this.#starts.get(key) ?? []) this.#take(stream, from, byte, length, start, found);
      }
    }
    return [...found.values()];
  }

  #take(
    { bus, id, extended, direction, payload }: Stream,
    from: number,
    byte: number,
    length: number,
    { number, pattern: { was, becomes, packing }, first }: Start,
    found: Map<string, Seen>,
  ): void {
    let end = 0;
    while (byte + end < length && first + end < was.length && payload[from + byte + end] === was[first + end]) end++;
    if (end < PIECE_BYTES || (packing === 'binary' && end < was.length)) return;
    if (new Set(was.subarray(first, first + end)).size < DIFFERENT_LEAST) return;
    const bytes = (values: Uint8Array): MaskedByte[] =>
      Array.from({ length: end }, (_, at) => ({ byte: byte + at, mask: 255, value: values[first + at] as number }));
    const key = `${number} ${byte} ${packing} ${was.subarray(first, first + end).join()}`;
    if (found.has(key)) return;
    const rule = { bus, id, extended, direction, holds: bytes(was), writes: bytes(becomes) };
    const reach = end < was.length ? 'fragment' : 'frame';
    found.set(key, { number, occurrence: { packing, reach, rules: [rule] } });
  }
}
