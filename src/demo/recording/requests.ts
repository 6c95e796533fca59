/** Frames waiting for the bus, as columns: when each was handed over, which frame it is, and its payload. */
export class Requests {
  count = 0;
  private size = 0;
  timeUs = new Float64Array(4096);
  frame = new Uint16Array(4096);
  at = new Uint32Array(4096);
  length = new Uint8Array(4096);
  payload = new Uint8Array(32768);

  add(timeUs: number, frame: number, bytes: Uint8Array): void {
    if (this.count === this.frame.length) this.growRows();
    if (this.size + bytes.length > this.payload.length) this.payload = grown(this.payload, this.payload.length * 2);
    this.timeUs[this.count] = timeUs;
    this.frame[this.count] = frame;
    this.at[this.count] = this.size;
    this.length[this.count] = bytes.length;
    this.payload.set(bytes, this.size);
    this.size += bytes.length;
    this.count++;
  }

  bytesOf(row: number): Uint8Array {
    const at = this.at[row] as number;
    return this.payload.subarray(at, at + (this.length[row] as number));
  }

  private growRows(): void {
    const rows = this.count * 2;
    this.timeUs = grown(this.timeUs, rows);
    this.frame = grown(this.frame, rows);
    this.at = grown(this.at, rows);
    this.length = grown(this.length, rows);
  }
}

function grown<T extends Float64Array | Uint32Array | Uint16Array | Uint8Array>(from: T, size: number): T {
  const into = new (from.constructor as new (size: number) => T)(size);
  into.set(from);
  return into;
}
