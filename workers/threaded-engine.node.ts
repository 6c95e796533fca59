/** An engine whose capture lives in a thread of Node, as it lives in a worker in the page. */
import { Worker } from 'node:worker_threads';
import * as Comlink from 'comlink';
import type { ByteSource } from '../src/frames/source.ts';
import type { Engine } from '../src/jobs/engine-types.ts';
import type { CaptureHost } from './capture-host.ts';
import type { PostedPath } from './capture.node.ts';
import { endpointOf } from './endpoint.node.ts';
import { engineOver } from './remote-engine.ts';

/** A byte source that says where its file lies is opened by the thread; any other is read here and handed over. */
export interface PathSource extends ByteSource {
  readonly path: string;
}

async function toPosted(source: ByteSource): Promise<PostedPath> {
  const { name, size } = source;
  if ('path' in source && typeof source.path === 'string') return { name, size, path: source.path };
  const bytes = (await source.slice(0, size)).slice();
  return Comlink.transfer({ name, bytes }, [bytes.buffer]);
}

export function createThreadedEngine(): Engine {
  const worker = new Worker(new URL('./capture.node.mjs', import.meta.url));
  const failed = new Promise<never>((_resolve, reject) => void worker.once('error', reject));
  failed.catch(() => undefined);
  const remote = Comlink.wrap<CaptureHost<PostedPath>>(endpointOf(worker));
  return engineOver({ remote, failed, end: () => void worker.terminate() }, toPosted);
}
