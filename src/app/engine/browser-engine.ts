/** The page's engine: one capture in a worker of its own. Ending it frees the frames. */
import * as Comlink from 'comlink';
import type { CaptureHost } from '../../../workers/capture-host.ts';
import type { PostedFile } from '../../../workers/capture.browser.ts';
import { engineOver } from '../../../workers/remote-engine.ts';
import type { ByteSource } from '../../frames/source.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import { isFileSource } from './file-source.ts';

async function toPosted(source: ByteSource): Promise<PostedFile> {
  if (isFileSource(source)) return { file: source.file };
  const bytes = (await source.slice(0, source.size)).slice();
  return Comlink.transfer({ name: source.name, bytes }, [bytes.buffer]);
}

/** Starts the worker; `close` ends it and everything it holds. */
export function createBrowserEngine(): Engine {
  // In one expression: the build bundles a worker only where it sees its address as a literal.
  const worker = new Worker(new URL('../../../workers/capture.browser.ts', import.meta.url), {
    type: 'module',
    name: 'capture',
  });
  const failed = new Promise<never>((_resolve, reject) =>
    worker.addEventListener('error', (event) => reject(new Error(event.message || 'the capture worker failed'))),
  );
  failed.catch(() => undefined);
  const remote = Comlink.wrap<CaptureHost<PostedFile>>(worker);
  return engineOver({ remote, failed, end: () => worker.terminate() }, toPosted);
}
