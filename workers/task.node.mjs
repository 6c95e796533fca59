/** A worker thread of the command line: loads the TypeScript sources and listens. */
import { register } from 'tsx/esm/api';

register();
await import('./task.node.ts');
