/** Where engines come from: the one place in the page that knows how frames are held. */
import type { Engine } from '../jobs/engine-types.ts';
import { createBrowserEngine } from './engine/browser-engine.ts';

export const createEngine = (): Engine => createBrowserEngine();
