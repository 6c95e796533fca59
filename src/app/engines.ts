/** Where engines come from: the one place in the page that knows how frames are held. */
import type { Engine } from '../jobs/engine-types.ts';
import type { ByteSource } from '../frames/source.ts';
import { createBrowserEngine } from './engine/browser-engine.ts';
import { fileSource } from './engine/file-source.ts';

export const createEngine = (): Engine => createBrowserEngine();
export const sourceOf = (name: string, blob: Blob): ByteSource =>
  fileSource(blob instanceof File && blob.name === name ? blob : new File([blob], name));
