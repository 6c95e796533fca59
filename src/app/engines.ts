/** Where engines come from: the one place in the page that knows how frames are held. */
import type { Engine } from '../jobs/engine-types.ts';

type Maker = () => Engine;
const found = Object.values(import.meta.glob<{ createBrowserEngine?: Maker }>('./engine/index.ts', { eager: true }));

export function createEngine(): Engine {
  const maker = found.find((module) => module.createBrowserEngine)?.createBrowserEngine;
  if (!maker) throw new Error('this build of the page cannot read captures');
  return maker();
}
