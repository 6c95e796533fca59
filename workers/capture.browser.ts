/** The page's capture worker: a File becomes a byte source here, so that its bytes never pass the page. */
import * as Comlink from 'comlink';
import type { ByteSource } from '../src/frames/source.ts';
import { memorySource } from '../src/frames/source.ts';
import { createCaptureHost } from './capture-host.ts';
import type { ComputeHost } from './compute-host.ts';
import { createPool, type ComputeThread } from './pool.ts';

/** A dropped or picked file, or bytes that the page made itself. */
export type PostedFile = { readonly file: File } | { readonly name: string; readonly bytes: Uint8Array };

function sourceOf(posted: PostedFile): ByteSource {
  if ('bytes' in posted) return memorySource(posted.name, posted.bytes);
  const { file } = posted;
  return {
    name: file.name,
    size: file.size,
    slice: async (start, end) => new Uint8Array(await file.slice(start, end).arrayBuffer()),
  };
}

function spawnCompute(): ComputeThread {
  const worker = new Worker(new URL('./compute.browser.ts', import.meta.url), { type: 'module', name: 'compute' });
  return {
    remote: Comlink.wrap<ComputeHost>(worker),
    onFailure: (tell) =>
      worker.addEventListener('error', (event) => tell(new Error(event.message || 'a compute worker failed'))),
    end: () => worker.terminate(),
  };
}

/** A message to oneself: unlike a timer it is not held back, and other messages get their turn before it. */
const channel = new MessageChannel();
const waiting: (() => void)[] = [];
channel.port1.onmessage = () => waiting.shift()?.();
const breathe = (): Promise<void> =>
  new Promise((resolve) => {
    waiting.push(resolve);
    channel.port2.postMessage(null);
  });

const breadth = Math.min(4, Math.max(2, navigator.hardwareConcurrency - 1));
Comlink.expose(createCaptureHost({ sourceOf, breathe, createRunner: () => createPool(spawnCompute, breadth) }));
