/** Where engines come from: the one place in the page that knows how frames are held. */
import type { Engine } from '../jobs/engine-types.ts';
import { createInlineEngine } from '../jobs/engine.ts';

const breathe = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));
export const createEngine = (): Engine => createInlineEngine({ breathe });
