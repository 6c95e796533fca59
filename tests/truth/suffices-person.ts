/**
 * A simulated person who follows a run card in the vehicle of the demo's simulator: pauses of their own, reactions, feet. What the vehicle does not
 * have is passed over, as people do. Marks are written for what the card asks for, late by a reaction.
 */
import type { Mark } from '../../src/actions/types.ts';
import { ACTIONS, TO_THE_FLOOR, type ActionName, type DriverAction, type DriverScript } from '../../src/demo/script.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import type { RunCardStep } from '../../src/proof/suffices/types.ts';

const SLEEP_AFTER_S = 22;
const INSTANTS: readonly string[] = [ACTIONS.key, ACTIONS.selector];
const PEDALS: readonly string[] = [ACTIONS.accelerator, ACTIONS.brake];

const isKnown = (action: string): action is ActionName => (Object.values(ACTIONS) as string[]).includes(action);

interface Done {
  readonly actions: DriverAction[];
  /** Of `actions`, those that the card has marks for. */
  readonly marked: Set<DriverAction>;
  nowS: number;
}

function doOnce(done: Done, action: ActionName, step: RunCardStep, random: Random): void {
  done.nowS += random.between(4, 9) + random.between(0.2, 0.6);
  const startS = done.nowS;
  const foot = step.says.includes('Foot on the brake');
  if (foot) done.actions.push({ action: ACTIONS.brake, startS: startS - 1, endS: startS + 1, depth: 0.5 });
  const lengthS = step.holdS + random.between(0.1, 0.5);
  const isInstant = INSTANTS.includes(action);
  const depth = step.says.includes('as far as it goes')
    ? TO_THE_FLOOR
    : step.says.includes('as fast as')
      ? random.between(0.75, 0.95)
      : random.between(0.35, 0.6);
  const one: DriverAction = {
    action,
    startS,
    endS: isInstant ? null : startS + lengthS,
    ...(step.value ? { value: step.value } : {}),
    ...(PEDALS.includes(action) ? { depth } : {}),
  };
  done.actions.push(one);
  done.marked.add(one);
  done.nowS = startS + (isInstant ? 1.2 : lengthS);
}

const reaction = (random: Random): number => random.between(0.15, 0.45);

/** Marks of a script on simulated time. */
export function marksOfScript(actions: readonly DriverAction[], random: Random): Mark[] {
  return actions
    .map(({ action, startS, endS, value }): Mark => ({
      action,
      startS: startS + reaction(random),
      endS: endS === null ? null : endS + reaction(random),
      ...(value ? { value } : {}),
    }))
    .sort((a, b) => a.startS - b.startS);
}

/** What is done, and the marks of it, both on simulated time. */
export function followCard(
  card: readonly RunCardStep[],
  seed: number,
): { readonly script: DriverScript; readonly marks: readonly Mark[] } {
  const random = createRandom(seed).fork('card');
  const done: Done = { actions: [], marked: new Set(), nowS: 0 };
  for (const step of card)
    for (let turn = 0; turn < step.times; turn++) {
      if (step.action === '') done.nowS += Math.min(step.holdS, SLEEP_AFTER_S);
      else if (isKnown(step.action)) doOnce(done, step.action, step, random);
    }
  const actions = [...done.actions].sort((a, b) => a.startS - b.startS);
  const script: DriverScript = { durationS: done.nowS + 1, begins: 'asleep', unplugged: [], actions, seed };
  return {
    script,
    marks: marksOfScript(
      actions.filter((one) => done.marked.has(one)),
      random,
    ),
  };
}
