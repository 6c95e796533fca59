/** A file that was dropped, picked or kept in this browser, as a byte source. The capture worker gets the Blob itself and reads it there. */
import type { ByteSource } from '../../frames/source.ts';

export interface BlobSource extends ByteSource {
  readonly blob: Blob;
}

export const blobSource = (name: string, blob: Blob): BlobSource => ({
  blob,
  name,
  size: blob.size,
  slice: async (start, end) => new Uint8Array(await blob.slice(start, end).arrayBuffer()),
});

export const isBlobSource = (source: ByteSource): source is BlobSource => 'blob' in source;
