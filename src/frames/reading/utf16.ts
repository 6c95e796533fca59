/** UTF-16 exports turned into UTF-8 on the way, and byte-order marks removed. */
import type { Consumer } from './reader.ts';

export type Encoding = 'utf-8' | 'utf-16le' | 'utf-16be';

/** By byte-order mark, else by zero bytes at every second place of the head. */
export function encodingOf(head: Uint8Array): Encoding {
  if (head[0] === 0xff && head[1] === 0xfe) return 'utf-16le';
  if (head[0] === 0xfe && head[1] === 0xff) return 'utf-16be';
  const looked = Math.min(head.length & ~1, 4096);
  if (looked < 8) return 'utf-8';
  const zeros = [0, 0];
  for (let i = 0; i < looked; i++) if (head[i] === 0) zeros[i & 1]!++;
  const [even, odd] = zeros as [number, number];
  if (odd > looked * 0.4 && even < looked * 0.05) return 'utf-16le';
  if (even > looked * 0.4 && odd < looked * 0.05) return 'utf-16be';
  return 'utf-8';
}

/** A consumer of text bytes without byte-order mark, in UTF-8 whatever the file was in. */
export function asUtf8(consumer: Consumer, encoding: Encoding): Consumer {
  return encoding === 'utf-8' ? new WithoutMark(consumer) : new FromUtf16(consumer, encoding);
}

class WithoutMark implements Consumer {
  private readonly start: number[] = [];
  private isPast = false;

  constructor(private readonly consumer: Consumer) {}

  push(bytes: Uint8Array): void {
    let from = 0;
    while (!this.isPast && from < bytes.length) {
      this.start.push(bytes[from++] as number);
      if (this.start.length === 3) this.release();
    }
    if (from < bytes.length) this.consumer.push(from === 0 ? bytes : bytes.subarray(from));
  }

  finish(): void {
    this.release();
    this.consumer.finish();
  }

  private release(): void {
    this.isPast = true;
    const [a, b, c] = this.start;
    if (!(a === 0xef && b === 0xbb && c === 0xbf)) this.consumer.push(Uint8Array.from(this.start));
    this.start.length = 0;
  }
}

class FromUtf16 implements Consumer {
  private readonly decoder: TextDecoder;
  private readonly encoder = new TextEncoder();

  constructor(
    private readonly consumer: Consumer,
    encoding: Encoding,
  ) {
    // The platform's decoder drops the mark and keeps a half unit for the next piece.
    this.decoder = new TextDecoder(encoding);
  }

  push(bytes: Uint8Array): void {
    const text = this.decoder.decode(bytes, { stream: true });
    if (text !== '') this.consumer.push(this.encoder.encode(text));
  }

  finish(): void {
    this.push(new Uint8Array(0));
    const text = this.decoder.decode();
    if (text !== '') this.consumer.push(this.encoder.encode(text));
    this.consumer.finish();
  }
}
