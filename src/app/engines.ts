/** Where engines come from: the one place in the page that knows how frames are held. */
import type { Engine } from '../jobs/engine-types.ts';
import { Cancelled } from '../kit/control.ts';
import { createBrowserEngine } from './engine/browser-engine.ts';

/** An engine whose open questions end when it is closed: nobody waits for a worker that is gone. */
export function createEngine(): Engine {
  const engine = createBrowserEngine();
  let end = (): void => undefined;
  const ended = new Promise<never>((_resolve, reject) => {
    end = () => reject(new Cancelled());
  });
  ended.catch(() => undefined);
  return new Proxy(engine, {
    get(target, name, receiver) {
      const member: unknown = Reflect.get(target, name, receiver);
      if (typeof member !== 'function') return member;
      return (...args: unknown[]) => {
        const work = Reflect.apply(member, target, args) as Promise<unknown>;
        if (name === 'close') end();
        return name === 'close' ? work : Promise.race([work, ended]);
      };
    },
  });
}
