/** A growing run of bytes for the file writers: text of millions of lines without one long string. */
const POWERS = Array.from({ length: 11 }, (_, power) => 10 ** power);
const UPPER = Uint8Array.from('0123456789ABCDEF', (digit) => digit.charCodeAt(0));

export class ByteWriter {
  private bytes: Uint8Array<ArrayBuffer>;
  private size = 0;
  constructor(expected: number) {
    this.bytes = new Uint8Array(Math.max(1024, expected));
  }

  private reserve(more: number): void {
    if (this.size + more <= this.bytes.length) return;
    const next = new Uint8Array(Math.max(this.bytes.length * 1.5, this.size + more));
    next.set(this.bytes.subarray(0, this.size));
    this.bytes = next;
  }

  ascii(text: string): void {
    this.reserve(text.length);
    for (let i = 0; i < text.length; i++) this.bytes[this.size++] = text.charCodeAt(i);
  }

  /** Decimal of a whole number below 2^32, padded with zeros to at least so many digits. */
  digits(value: number, width: number): void {
    this.reserve(20);
    let length = width;
    while (length < 10 && value >= (POWERS[length] as number)) length++;
    let rest = value >>> 0;
    for (let at = this.size + length - 1; at >= this.size; at--) {
      const tenth = (rest / 10) >>> 0;
      this.bytes[at] = 48 + (rest - tenth * 10);
      rest = tenth;
    }
    this.size += length;
  }

  hex(value: number, width: number): void {
    this.reserve(width);
    for (let at = width - 1; at >= 0; at--)
      this.bytes[this.size++] = UPPER[Math.floor(value / 2 ** (4 * at)) & 15] as number;
  }

  hexBytes(bytes: Uint8Array, separator: string): void {
    this.reserve(bytes.length * 3);
    for (let i = 0; i < bytes.length; i++) {
      if (i > 0 && separator) this.bytes[this.size++] = separator.charCodeAt(0);
      const byte = bytes[i] as number;
      this.bytes[this.size++] = UPPER[byte >> 4] as number;
      this.bytes[this.size++] = UPPER[byte & 15] as number;
    }
  }

  raw(bytes: Uint8Array): void {
    this.reserve(bytes.length);
    this.bytes.set(bytes, this.size);
    this.size += bytes.length;
  }

  /** An unsigned integer of so many bytes. */
  uint(value: number, width: 1 | 2 | 4, order: 'little' | 'big'): void {
    this.reserve(width);
    for (let i = 0; i < width; i++) {
      const shift = 8 * (order === 'little' ? i : width - 1 - i);
      this.bytes[this.size++] = (value >>> shift) & 0xff;
    }
  }

  get length(): number {
    return this.size;
  }

  finish(): Uint8Array<ArrayBuffer> {
    return this.bytes.slice(0, this.size);
  }
}
