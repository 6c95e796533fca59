/** The capture worker as a thread of Node. */
import { open, type FileHandle } from 'node:fs/promises';
import { parentPort, Worker } from 'node:worker_threads';
import { availableParallelism } from 'node:os';
import * as Comlink from 'comlink';
import { memorySource, type ByteSource } from '../src/frames/source.ts';
import { createCaptureHost } from './capture-host.ts';
import type { ComputeHost } from './compute-host.ts';
import { endpointOf } from './endpoint.node.ts';
import { createPool, type ComputeThread } from './pool.ts';

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

function spawnCompute(): ComputeThread {
  const worker = new Worker(new URL('./compute.node.mjs', import.meta.url));
  return {
    remote: Comlink.wrap<ComputeHost>(endpointOf(worker)),
    onFailure: (tell) => void worker.once('error', tell),
    end: () => void worker.terminate(),
  };
}

const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const breadth = Math.min(4, Math.max(2, availableParallelism() - 1));
const host = createCaptureHost({ sourceOf, breathe, createRunner: () => createPool(spawnCompute, breadth) });
if (parentPort) Comlink.expose(host, endpointOf(parentPort));
