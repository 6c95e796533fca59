/** Receive, look up the handler, answer: the tasks themselves live in src/cli/tasks. */
import { parentPort } from 'node:worker_threads';
import { expose } from 'comlink';
import { createTaskServer } from '../src/cli/tasks/server.ts';
import { createComputePool } from './compute-threads.node.ts';
import { endpointOf } from './endpoint.node.ts';

if (parentPort) expose(createTaskServer(createComputePool), endpointOf(parentPort));
