/** What is done where nothing drives: a donor whose pyro fuse has fired, and a part by itself on the bench. */
import { createRandom } from '../kit/random.ts';
import type { ModuleRole } from './quantities.ts';
import { ACTIONS, TO_THE_FLOOR, type DriverAction, type DriverScript } from './script.ts';

/**
 * Key on, what can be done standing, key off: all that a donor can do whose fuse has fired.
 * @param times each action is done so often
 */
export function keyOnScript(seed: number, times = 6): DriverScript {
  const random = createRandom(seed).fork('key on');
  const { key, door, brake, indicator, heater, handbrake } = ACTIONS;
  const actions: DriverAction[] = [{ action: key, startS: 4, endS: null, value: 'on' }];
  let nowS = 8;
  for (const action of random.shuffle(
    [door, brake, indicator, heater, handbrake].flatMap((one) => Array.from({ length: times }, () => one)),
  )) {
    const lengthS = random.between(1.8, 3);
    const depth = action === brake ? { depth: random.next() < 0.7 ? TO_THE_FLOOR : 0.5 } : {};
    actions.push({ action, startS: nowS, endS: nowS + lengthS, ...depth });
    nowS += lengthS + random.between(1, 3.5);
  }
  actions.push({ action: key, startS: nowS + 3, endS: null, value: 'off' });
  return { durationS: nowS + 28, begins: 'asleep', unplugged: [], fuseFired: true, actions, seed };
}

/** A part by itself: supply and wake line on and off, some times. */
export function benchScript(seed: number, unplugged: readonly ModuleRole[], times: number): DriverScript {
  const { key } = ACTIONS;
  const random = createRandom(seed).fork('bench');
  const actions: DriverAction[] = [];
  let nowS = 4;
  for (let turn = 0; turn < times; turn++) {
    actions.push({ action: key, startS: nowS, endS: null, value: 'on' });
    nowS += random.between(14, 22);
    actions.push({ action: key, startS: nowS, endS: null, value: 'off' });
    nowS += random.between(10, 14);
  }
  return { durationS: nowS + 6, begins: 'asleep', unplugged, fuseFired: true, actions, seed };
}
