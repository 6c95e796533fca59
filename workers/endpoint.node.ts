/** comlink's view of a thread or port of Node. */
import type { MessagePort, Worker } from 'node:worker_threads';
import type { Endpoint } from 'comlink';
import nodeEndpoint from 'comlink/dist/esm/node-adapter.mjs';

export const endpointOf = (port: MessagePort | Worker): Endpoint => nodeEndpoint(port);
