/**
 * Unpacks gzip (RFC 1952) as a stream. The platform's unpacker is fastest, but some refuse a second
 * member after the first, and none says how much of a cut-off file it could read. So on any complaint
 * a slower one takes over from the start, skips what was delivered, and gives all that can be had.
 */
import { Gunzip } from 'fflate';
import type { ByteSource } from '../source.ts';
import { joined } from './joined.ts';

interface Pieces {
  pieces(): AsyncGenerator<Uint8Array>;
}

/** Unpackers deliver crumbs of some kilobytes; about so much is worth a breath. */
const PIECE_BYTES = 256 << 10;

export async function* gunzip(
  source: ByteSource,
  raw: Pieces,
  damage: { words: string | null },
): AsyncGenerator<Uint8Array> {
  let held: Uint8Array[] = [];
  let bytes = 0;
  for await (const crumb of unpack(source, raw, damage)) {
    held.push(crumb);
    bytes += crumb.length;
    if (bytes < PIECE_BYTES) continue;
    yield joined(held);
    held = [];
    bytes = 0;
  }
  if (bytes > 0) yield joined(held);
}

async function* unpack(source: ByteSource, raw: Pieces, damage: { words: string | null }): AsyncGenerator<Uint8Array> {
  let delivered = 0;
  const input = raw.pieces();
  try {
    for await (const piece of unpackByPlatform(input)) {
      yield piece;
      delivered += piece.length;
    }
  } catch (complaint) {
    if (!(complaint instanceof UnpackingFailed)) throw complaint;
    // The rest of the bytes still has to pass through the digest.
    for (;;) if ((await input.next()).done) break;
    yield* unpackLeniently(source, delivered, damage);
  }
}

class UnpackingFailed extends Error {}

/** One piece in, what it unpacks to out; errors of the input are not mistaken for errors of the packing. */
async function* unpackByPlatform(input: AsyncGenerator<Uint8Array>): AsyncGenerator<Uint8Array> {
  const stream = new DecompressionStream('gzip');
  const writer = stream.writable.getWriter();
  const reader = stream.readable.getReader();
  let inputFailed: unknown;
  const feed = async () => {
    for (;;) {
      const { done, value } = await input.next().catch((reason: unknown) => {
        inputFailed = reason ?? new Error('reading failed');
        throw reason;
      });
      if (done) return writer.close();
      await writer.ready;
      await writer.write(value as Uint8Array<ArrayBuffer>);
    }
  };
  const feeding = feed().catch((reason: unknown) => writer.abort(reason).catch(() => undefined));
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      if (value) yield value;
    }
  } catch (reason) {
    if (inputFailed) throw inputFailed;
    throw new UnpackingFailed(String(reason));
  } finally {
    await reader.cancel().catch(() => undefined);
    await feeding;
  }
}

const CUT_OFF = 'the gzip data is cut off; what could be unpacked was read';
/** Unpacking goes on behind a wrong byte, but what it gives may be wrong in places that look right. */
const DAMAGED =
  'the gzip data is damaged; what could be unpacked was read, but frames behind the damage may be wrong: copy the file again from where it was recorded before you trust them';
/** What the unpacker's complaint says where the bytes end too early (its error code 0). */
const isCutOff = (complaint: unknown): boolean => (complaint as { code?: number }).code === 0;

const LENIENT_SLICE = 256 << 10;

async function* unpackLeniently(
  source: ByteSource,
  skip: number,
  damage: { words: string | null },
): AsyncGenerator<Uint8Array> {
  const ready: Uint8Array[] = [];
  let isComplete = false;
  let toSkip = skip;
  const unpacker = new Gunzip((data, final) => {
    isComplete ||= final;
    if (data.length > toSkip) ready.push(data.slice(toSkip));
    toSkip = Math.max(0, toSkip - data.length);
  });
  let furtherMembers = 0;
  unpacker.onmember = () => furtherMembers++;
  for (let start = 0; start < source.size; start += LENIENT_SLICE) {
    const slice = await source.slice(start, start + LENIENT_SLICE);
    const isLast = start + LENIENT_SLICE >= source.size;
    try {
      unpacker.push(slice, isLast);
    } catch (complaint) {
      damage.words = isLast && isCutOff(complaint) ? CUT_OFF : DAMAGED;
      start = source.size;
    }
    yield* ready.splice(0);
  }
  // One member gives the platform no reason to complain but damage.
  if (!isComplete) damage.words ??= CUT_OFF;
  else if (furtherMembers === 0) damage.words ??= DAMAGED;
}
