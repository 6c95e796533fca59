/**
 * From a byte source to pieces small enough to breathe between: reads ahead by one slice, digests the
 * bytes as given, unpacks gzip on the way.
 */
import type { StreamedDigest } from '../reading-types.ts';
import type { ByteSource } from '../source.ts';
import { gunzip } from './gunzip.ts';
import { Sha256 } from './sha256.ts';

export const SLICE_BYTES = 8 << 20;
/** About what a slow reader parses between two breaths. */
const PIECE_BYTES = 512 << 10;

/** The pieces of one file as given, in order, and what was read so far. */
class RawBytes {
  bytesRead = 0;
  private readonly digest: StreamedDigest;

  constructor(
    private readonly source: ByteSource,
    private readonly sliceBytes: number,
    createDigest: () => StreamedDigest = () => new Sha256(),
  ) {
    this.digest = createDigest();
  }

  /** Ask once, after the last piece. */
  sha256(): string {
    return this.digest.hex();
  }

  async *pieces(): AsyncGenerator<Uint8Array> {
    const { source, sliceBytes } = this;
    let next = source.slice(0, sliceBytes);
    for (let start = 0; ; start += sliceBytes) {
      const slice = await next;
      const isLast = slice.length < sliceBytes;
      if (!isLast) {
        next = source.slice(start + sliceBytes, start + 2 * sliceBytes);
        // A failed read ahead is reported where it is awaited.
        next.catch(() => undefined);
      }
      for (let at = 0; at < slice.length; at += PIECE_BYTES) {
        const piece = slice.subarray(at, Math.min(slice.length, at + PIECE_BYTES));
        this.digest.update(piece);
        this.bytesRead += piece.length;
        yield piece;
      }
      if (isLast) return;
    }
  }
}

export const isGzip = (head: Uint8Array): boolean => head[0] === 0x1f && head[1] === 0x8b && head[2] === 8;

export interface OpenedBytes {
  readonly raw: RawBytes;
  readonly isPacked: boolean;
  /** Unpacked where the source is gzip. */
  readonly pieces: AsyncGenerator<Uint8Array>;
  /** Set once the pieces have ended early because the packed bytes are damaged or cut off. */
  readonly damage: { words: string | null };
}

export async function openBytes(
  source: ByteSource,
  sliceBytes: number,
  createDigest?: () => StreamedDigest,
): Promise<OpenedBytes> {
  const head = await source.slice(0, 3);
  const raw = new RawBytes(source, sliceBytes, createDigest);
  const damage = { words: null };
  const isPacked = isGzip(head);
  return { raw, isPacked, damage, pieces: isPacked ? gunzip(source, raw, damage) : raw.pieces() };
}
