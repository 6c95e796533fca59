/** comlink ships the types of its Node adapter under a name that its module path does not reach. */
declare module 'comlink/dist/esm/node-adapter.mjs' {
  import type { Endpoint } from 'comlink';
  import type { MessagePort, Worker } from 'node:worker_threads';
  export default function nodeEndpoint(port: MessagePort | Worker): Endpoint;
}
