/**
 * Where bytes come from. A byte source is anything with a size and slices: a browser File, a file
 * descriptor, bytes in memory. Readers see only this.
 */
export interface ByteSource {
  /** As the person knows it: "drive.log.gz". */
  readonly name: string;
  /** Bytes, before any decompression. */
  readonly size: number;
  /** Bytes start..end (end exclusive); shorter only at the end of the source. */
  slice(start: number, end: number): Promise<Uint8Array>;
}

/** One file of a capture. */
export interface CaptureInput {
  readonly source: ByteSource;
  /** Bus name for files that name none (`BUS=FILE` on the command line). */
  readonly bus?: string;
}

export function memorySource(name: string, bytes: Uint8Array): ByteSource {
  return { name, size: bytes.length, slice: (start, end) => Promise.resolve(bytes.subarray(start, end)) };
}
