/** The capture worker as a thread of Node. */
import { open, type FileHandle } from 'node:fs/promises';
import { parentPort } from 'node:worker_threads';
import * as Comlink from 'comlink';
import { memorySource, type ByteSource } from '../src/frames/source.ts';
import { createCaptureHost } from './capture-host.ts';
import { createComputePool } from './compute-threads.node.ts';
import { endpointOf } from './endpoint.node.ts';

/** A path that the thread opens itself, or bytes. */
export type PostedPath =
  | { readonly name: string; readonly path: string; readonly size: number }
  | { readonly name: string; readonly bytes: Uint8Array };

function sourceOf(posted: PostedPath): ByteSource {
  if ('bytes' in posted) return memorySource(posted.name, posted.bytes);
  let handle: Promise<FileHandle> | null = null;
  return {
    name: posted.name,
    size: posted.size,
    async slice(start, end) {
      handle ??= open(posted.path);
      const bytes = new Uint8Array(Math.max(0, Math.min(end, posted.size) - start));
      const { bytesRead } = await (await handle).read(bytes, 0, bytes.length, start);
      return bytes.subarray(0, bytesRead);
    },
  };
}

const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const host = createCaptureHost({ sourceOf, breathe, createRunner: createComputePool });
if (parentPort) Comlink.expose(host, endpointOf(parentPort));
