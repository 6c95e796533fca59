/** Files and blobs as byte sources. */
import type { ByteSource } from '../frames/source.ts';
import { fileSource } from './engine/file-source.ts';

export const asFile = (name: string, blob: Blob): File =>
  blob instanceof File && blob.name === name ? blob : new File([blob], name);
export const sourceOf = (name: string, blob: Blob): ByteSource => fileSource(asFile(name, blob));
