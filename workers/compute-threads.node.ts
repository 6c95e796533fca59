/** Compute workers as threads of Node: as many as the machine has cores to spare, four at most. */
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import * as Comlink from 'comlink';
import type { PartRunner } from '../src/jobs/run-analysis.ts';
import type { ComputeHost } from './compute-host.ts';
import { endpointOf } from './endpoint.node.ts';
import { createPool, type ComputeThread } from './pool.ts';

function spawnCompute(): ComputeThread {
  const worker = new Worker(new URL('./compute.node.mjs', import.meta.url));
  return {
    remote: Comlink.wrap<ComputeHost>(endpointOf(worker)),
    onFailure: (tell) => void worker.once('error', tell),
    end: () => void worker.terminate(),
  };
}

export const createComputePool = (): PartRunner =>
  createPool(spawnCompute, Math.min(4, Math.max(2, availableParallelism() - 1)));
