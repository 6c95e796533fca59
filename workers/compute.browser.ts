/** The page's compute worker: started for a long job, ended with it. */
import * as Comlink from 'comlink';
import { computeHost } from './compute-host.ts';

Comlink.expose(computeHost);
