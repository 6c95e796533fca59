/** Bytes of a binary file that arrive in pieces, handed over as whole records. */

/** No record of a bus recording is longer; a longer one means that the file is damaged. */
export const LONGEST_RECORD = 1 << 20;

/**
 * Looks at bytes[at..end): returns the bytes that the record there takes, 0 where more are needed to
 * know or to hold it, -1 where the file cannot be followed any further.
 */
export type RecordTaker = (view: DataView, at: number, end: number) => number;

export class RecordFeed {
  private rest = new Uint8Array(0);
  private isLost = false;

  constructor(private readonly take: RecordTaker) {}

  push(piece: Uint8Array): void {
    if (this.isLost) return;
    const bytes = this.rest.length === 0 ? piece : concat(this.rest, piece);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    let at = 0;
    while (at < bytes.length) {
      const taken = this.take(view, at, bytes.length);
      if (taken === 0) break;
      if (taken < 0) {
        this.isLost = true;
        this.rest = new Uint8Array(0);
        return;
      }
      at += taken;
    }
    this.rest = bytes.slice(at);
  }

  /** Bytes at the end that are no whole record. */
  get restBytes(): number {
    return this.rest.length;
  }
}

function concat(a: Uint8Array, b: Uint8Array): Uint8Array<ArrayBuffer> {
  const both = new Uint8Array(a.length + b.length);
  both.set(a);
  both.set(b, a.length);
  return both;
}
