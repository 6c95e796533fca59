/** Draws messages: what makes them go, what they carry, and what becomes of them without a module they listen to. */
import type { Random } from '../../../src/kit/random.ts';
import type { EveryByMode, Item, Loss, MessagePlan, ModulePlan, TaskPlan, Trigger } from './plan.ts';

const MODULI = [15, 16, 16, 256, 16];
const LOSSES: readonly Loss[] = ['slows', 'stops', 'filled FF', 'filled FE', 'frozen', 'default', 'fault bit'];

export interface Place {
  readonly bus: number;
  readonly module: number;
  readonly id: number;
  readonly extended: boolean;
}

/** Moments of change: by a person's hand, so in clusters. */
export function drawChanges(random: Random, durationUs: number, meanS: number): number[] {
  const changes: number[] = [];
  let atUs = -random.next() * meanS * 1e6;
  while (atUs < durationUs) {
    const more = random.next() < 0.4 ? random.below(4) : 0;
    for (let i = 0; i <= more; i++) {
      changes.push(atUs);
      atUs += random.between(0.12, 1.2) * 1e6;
    }
    atUs += -Math.log(1 - random.next()) * meanS * 1e6;
  }
  return changes;
}

function drawItems(random: Random, length: number): Item[] {
  const items: Item[] = [];
  let byte = 0;
  let end = length;
  if (length >= 2 && random.next() < 0.4) {
    items.push({ is: 'counter', byte: --end, high: random.next() < 0.5, modulus: random.pick(MODULI) });
  }
  const folds = end >= 3 && random.next() < 0.3;
  if (folds) end--;
  while (byte < end) {
    const bytes = byte + 2 <= end && random.next() < 0.5 ? 2 : 1;
    if (random.next() < 0.45) {
      const wave = [random.next(), 2 * 60 ** random.next(), 6.28 * random.next()] as const;
      items.push({ is: 'value', byte, bytes, wave, noise: random.pick([0, 0, 1, 3]) });
    }
    byte += bytes;
  }
  if (folds) items.push({ is: 'fold', byte: end });
  return items;
}

export function drawMessage(random: Random, place: Place, trigger: Trigger, changesUs: readonly number[]): MessagePlan {
  const length = random.pick([8, 8, 8, 8, 8, 7, 6, 5, 4, 3, 2]);
  const items = drawItems(random, length);
  const first = items.findIndex((item) => item.is === 'value');
  if (changesUs.length > 0) {
    const states: Item = { is: 'states', byte: 0 };
    // A message that goes on changes only says nothing else that moves.
    const others = trigger.by === 'change' ? items.filter(({ is }) => is === 'counter') : items;
    const kept = others.filter((item) => item.byte !== 0 && !(first === 0 && item === items[0]));
    return finish(random, place, trigger, length, [states, ...kept], changesUs);
  }
  return finish(random, place, trigger, length, items, changesUs);
}

function finish(
  random: Random,
  place: Place,
  trigger: Trigger,
  length: number,
  items: readonly Item[],
  changesUs: readonly number[],
): MessagePlan {
  const fill = random.pick([0, 0, 0xff, -1]);
  const still = Array.from({ length }, () => (fill < 0 ? random.below(256) : fill));
  return {
    ...place,
    name: `m${place.id.toString(16)}`,
    length,
    trigger,
    still,
    items,
    changesUs,
    without: null,
  };
}

/** On a period of one of the module's tasks; some every few turns, at turns of their own or all at the same. */
export function drawOnTask(
  random: Random,
  module: ModulePlan,
  staggered: boolean,
  byMode: boolean,
): Trigger & { by: 'task' } {
  const task = random.below(module.tasks.length);
  const { periodUs } = module.tasks[task] as TaskPlan;
  const every = random.pick(periodUs < 60_000 ? [1, 1, 1, 2, 5, 10, 20] : [1, 1, 1, 1, 2, 5]);
  const at = staggered ? random.below(every) : 0;
  return { by: 'task', task, every, at, ...(byMode ? { inMode: drawByMode(random, every) } : {}) };
}

function drawByMode(random: Random, every: number): EveryByMode {
  const kind = random.below(3);
  if (kind === 0) return { on: every * 10, ready: every * 10, charging: every * 10 };
  if (kind === 1) return { on: 0, ready: 0, charging: 0 };
  return { driving: every * 4, charging: 0 };
}

export function drawOnChange(random: Random, module: ModulePlan): Trigger & { by: 'change' } {
  const usable = module.tasks
    .map(({ periodUs }, task) => ({ periodUs, task }))
    .filter(({ periodUs }) => periodUs <= 110_000);
  const { task, periodUs } =
    usable.length > 0 ? random.pick(usable) : { task: 0, periodUs: module.tasks[0]?.periodUs ?? 1e5 };
  const kind = random.below(4);
  const slow = Math.max(2, Math.round((random.pick([500, 1000, 2000]) * 1000) / periodUs));
  const timesEvery = Math.max(1, Math.round((random.pick([10, 20, 40, 50]) * 1000) / periodUs));
  return {
    by: 'change',
    task,
    gapUs: random.pick([0, 20_000, 50_000]),
    times: kind === 1 || kind === 2 ? 3 + random.below(4) : 1,
    timesEvery,
    slowEvery: kind >= 2 ? slow : 0,
    restarts: random.next() < 0.5,
  };
}

export function withLoss(random: Random, message: MessagePlan, modules: number): MessagePlan {
  const module = random.below(modules);
  if (module === message.module) return message;
  const moves = message.items.some(({ is }) => is === 'value' || is === 'echo');
  const usable = LOSSES.filter((loss) =>
    loss === 'slows' || loss === 'stops' ? message.trigger.by === 'task' : moves || loss === 'fault bit',
  );
  return { ...message, without: { module, loss: random.pick(usable), every: 2 + random.below(9) } };
}
