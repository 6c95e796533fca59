// Lets the thread load TypeScript, then starts it.
import { register } from 'tsx/esm/api';

register();
await import('./capture.node.ts');
