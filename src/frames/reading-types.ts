/** What reading takes and reports, shared by the readers, the engine and the screens. */
import type { StreamKey } from './table.ts';

export interface ReadOptions {
  /** Overrides for files whose columns are not understood, by file name; "*" for all. See docs/formats.md. */
  readonly columns?: Readonly<Record<string, string>>;
  /** Zone of ISO stamps that name none: "UTC" (default), "+02:00". */
  readonly zone?: string;
  /** Bytes asked of a source at once; 8 MB where not given. */
  readonly sliceBytes?: number;
  /** The platform's own SHA-256 where it can be fed in pieces; a slower one of our own where not given. */
  readonly createDigest?: () => StreamedDigest;
}

/** Fed in order with all bytes of a file as given. */
export interface StreamedDigest {
  update(bytes: Uint8Array): unknown;
  /** Lower-case hex; asked once, after the last byte. */
  hex(): string;
}

/** Sent while a capture is being read, several times a second. */
export interface ReadingProgress {
  readonly file: string;
  readonly bytesRead: number;
  readonly bytesTotal: number;
  readonly frames: number;
  readonly rejected: number;
  readonly reachedS: number;
  /** In order of appearance. */
  readonly streams: readonly (StreamKey & {
    readonly count: number;
    readonly length: number;
    readonly firstS: number;
    readonly lastS: number;
  })[];
}
