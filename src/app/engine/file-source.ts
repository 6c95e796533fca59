/** A dropped or picked file as a byte source. The capture worker gets the File itself and reads it there. */
import type { ByteSource } from '../../frames/source.ts';

export interface FileSource extends ByteSource {
  readonly file: File;
}

export function fileSource(file: File): FileSource {
  return {
    file,
    name: file.name,
    size: file.size,
    slice: async (start, end) => new Uint8Array(await file.slice(start, end).arrayBuffer()),
  };
}

export const isFileSource = (source: ByteSource): source is FileSource => 'file' in source;
