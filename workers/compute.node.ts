/** The compute worker as a thread of Node. */
import { parentPort } from 'node:worker_threads';
import * as Comlink from 'comlink';
import { computeHost } from './compute-host.ts';
import { endpointOf } from './endpoint.node.ts';

if (parentPort) Comlink.expose(computeHost, endpointOf(parentPort));
