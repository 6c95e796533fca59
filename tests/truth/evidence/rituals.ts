/**
 * What happens when the key turns or the plug goes in: steps of several modules, each waiting for another one, some of them a request
 * and its answer, now and then one that stays away; and what is undone when it ends. Drawn once; each repetition has its own delays.
 */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from '../stranger/draw.ts';
import { combine, lag, paint, type Column } from './columns.ts';
import { levels } from './filler.ts';
import type { MachineKind } from './kinds.ts';
import type { Machine } from './machine.ts';
import type { Doing, TrueStep } from './truth.ts';

interface StepPlan {
  readonly signal: string;
  readonly sender: string;
  readonly from: number;
  readonly to: number;
  readonly after: number;
  readonly delayMs: readonly [number, number];
  readonly answers: number | null;
  /** Probability that it stays away. */
  readonly missing: number;
}

interface Ritual {
  readonly action: string;
  readonly up: readonly StepPlan[];
  readonly down: readonly StepPlan[];
}

interface Draft {
  readonly signal: string;
  readonly sender: string;
  readonly values: readonly number[];
  readonly ask?: boolean;
}

const delay = (random: Random, low: number, high: number): [number, number] => {
  const least = low * (high / low) ** random.next();
  return [Math.round(least), Math.round(least * random.between(1.1, 1.7))];
};

const someCodes = (random: Random, count: number): number[] => random.shuffle([0, 1, 2, 3, 4, 5, 6, 7]).slice(0, count);

/** Signals that take part, in the order in which they first do. */
function drawDrafts(random: Random, kind: MachineKind, action: string): Draft[] {
  const { drive, pack, helper, panel, charger, body, inverters } = kind;
  const [inverter] = inverters as readonly [string];
  const wakes = { signal: `${action} call`, sender: action === 'plug' ? charger : body, values: [0, 1], ask: true };
  const state = (sender: string, count: number): Draft => ({
    signal: `${action} ${sender} state`,
    sender,
    values: someCodes(random, count),
  });
  const flag = (signal: string, sender: string, ask = false): Draft => ({
    signal: `${action} ${signal}`,
    sender,
    values: [0, 1],
    ask,
  });
  if (action === 'plug')
    return [
      wakes,
      state(pack, 3),
      flag('current wanted', pack, true),
      state(charger, 3),
      flag('current flows', charger),
      flag('lock', body),
      flag('plug sign', panel),
    ];
  const choices = [
    flag('pump run', helper),
    flag('screen lit', panel),
    flag('cooling asked', drive),
    flag('supply on', charger),
  ];
  return [
    wakes,
    state(drive, 4),
    flag('close asked', drive, true),
    flag('negative closed', pack),
    flag('filling', pack),
    flag('positive closed', pack),
    state(inverter, 3),
    flag('run asked', drive, true),
    flag('ready', inverter),
    ...random.shuffle(choices).slice(0, whole(random, 1, 3)),
  ];
}

/** The steps up in turn; a later value of a state comes a few places behind the one before. */
function drawUp(random: Random, drafts: readonly Draft[]): StepPlan[] {
  const steps: StepPlan[] = [];
  const asks: number[] = [];
  const push = ({ signal, sender, values, ask }: Draft, value: number): void => {
    const [from, to] = [values[value - 1] as number, values[value] as number];
    const open = asks.find((index) => steps[index]?.sender !== sender);
    const before = steps.length - 1;
    const answers = value === 1 && open !== undefined && !ask ? open : null;
    if (answers !== null) asks.splice(asks.indexOf(answers), 1);
    const after = answers ?? (before > 1 && chance(random, 0.3) ? before - 1 : before);
    const delayMs = answers === null ? delay(random, 30, 400) : delay(random, 10, 90);
    const missing =
      before > 0 && !ask && answers === null && value === 1 && values.length === 2 && chance(random, 0.2) ? 0.15 : 0;
    steps.push({ signal, sender, from, to, after, delayMs, answers, missing });
    if (ask) asks.push(steps.length - 1);
  };
  const waiting: { readonly draft: Draft; readonly value: number; readonly at: number }[] = [];
  drafts.forEach((draft, place) => {
    push(draft, 1);
    draft.values.slice(2).forEach((_, more) => waiting.push({ draft, value: more + 2, at: place + 2 * (more + 1) }));
    for (const late of waiting.filter(({ at }) => at === place)) push(late.draft, late.value);
  });
  for (const late of waiting.filter(({ at }) => at >= drafts.length)) push(late.draft, late.value);
  return steps;
}

/** Everything back to where it began, the caller first, the others in an order of their own. */
function drawDown(random: Random, drafts: readonly Draft[]): StepPlan[] {
  const [first, ...others] = drafts as readonly [Draft, ...Draft[]];
  const order = [first, ...random.shuffle([...others])];
  return order.map(({ signal, sender, values }, place): StepPlan => {
    const [from, to] = [values[values.length - 1] as number, values[0] as number];
    return { signal, sender, from, to, after: place - 1, delayMs: delay(random, 20, 300), answers: null, missing: 0 };
  });
}

export function drawRitual(random: Random, kind: MachineKind, action: string): Ritual {
  const drafts = drawDrafts(random.fork('drafts'), kind, action);
  return { action, up: drawUp(random.fork('up'), drafts), down: drawDown(random.fork('down'), drafts) };
}

/** When each step of one repetition comes; null: not at all. */
function happen(random: Random, steps: readonly StepPlan[], eventS: number): (number | null)[] {
  const due: number[] = [];
  return steps.map(({ after, delayMs, missing }) => {
    const atS = (due[after] ?? eventS) + random.between(...delayMs) / 1000;
    due.push(atS);
    return chance(random, missing) ? null : atS;
  });
}

function tellEdge(
  machine: Machine,
  ritual: Ritual,
  edge: 'start' | 'end',
  turns: readonly (readonly (number | null)[])[],
  doings: readonly Doing[],
  strangers: readonly string[],
): void {
  const plans = edge === 'start' ? ritual.up : ritual.down;
  if (doings.every(({ startS }) => startS < 0)) return;
  const steps = plans.map(({ signal, sender, from, to, after, delayMs, answers }, index): TrueStep => ({
    ...{ signal, sender, from, to, after, delayMs, answers },
    atS: turns.map((times) => times[index] ?? null),
  }));
  const eventS = doings.map(({ startS, endS }) => (edge === 'start' ? startS : (endS ?? startS)));
  machine.sequences.push({ action: ritual.action, edge, eventS, steps, strangers });
}

/** Paints all repetitions and adds the signals. Gives each signal's column. */
export function addRitual(machine: Machine, ritual: Ritual, doings: readonly Doing[]): Map<string, Column> {
  const { action, up, down } = ritual;
  const random = machine.happenings.fork(`ritual ${action}`);
  const columns = new Map<string, Column>();
  for (const { signal, from } of up) if (!columns.has(signal)) columns.set(signal, machine.zero(from));
  const ends = machine.seconds + 1;
  const ups = doings.map(({ startS }) => happen(random, up, startS));
  const downs = doings.map(({ endS }) => (endS === null ? [] : happen(random, down, endS)));
  doings.forEach((_, turn) => {
    const paintAll = (plans: readonly StepPlan[], times: readonly (number | null)[] | undefined): void =>
      plans.forEach(({ signal, to }, index) => {
        const atS = times?.[index] ?? null;
        if (atS !== null) paint(columns.get(signal) as Column, atS, ends, to);
      });
    paintAll(up, ups[turn]);
    paintAll(down, downs[turn]);
  });
  const senders = new Map(up.map(({ signal, sender }) => [signal, sender]));
  for (const [name, column] of columns) {
    const most = Math.max(...up.filter(({ signal }) => signal === name).flatMap(({ from, to }) => [from, to]));
    const isFlag = most === 1 && up.filter(({ signal }) => signal === name).length === 1;
    const range = isFlag ? { kind: 'flag' as const, low: 0, high: 1 } : { kind: 'states' as const, low: 0, high: 7 };
    machine.add({ ...range, name, sender: senders.get(name) as string, role: 'state', column });
  }
  machine.answer(
    action,
    [`${action} call`],
    up.slice(1).map(({ signal }, index) => [signal, (index + 1) * 0.15] as const),
  );
  tellEdge(machine, ritual, 'start', ups, doings, []);
  const ended = doings.filter(({ endS }) => endS !== null);
  tellEdge(machine, ritual, 'end', downs.slice(0, ended.length), ended, []);
  return columns;
}

/** The link that fills while the contactors close: a number that goes with the steps. */
export function addFilling(
  machine: Machine,
  random: Random,
  { inverters, cells }: MachineKind,
  columns: Map<string, Column>,
): Column {
  const [filling, positive] = [columns.get('key filling'), columns.get('key positive closed')] as [Column, Column];
  const volts = lag(
    combine(filling, positive, (a, b) => Math.max(a, b) * cells * 3.7),
    random.between(0.08, 0.2),
  );
  const [sender] = inverters as readonly [string];
  machine.add({ name: 'filling volts', sender, column: volts, unit: 'V', low: 0, high: cells * 4.3, noise: 0.2 });
  return positive;
}

/** Flags that turn by themselves, as often as a key does. */
export function addStrangers(machine: Machine, { body, helper }: MachineKind): void {
  const names = [body, helper].map((sender, index) => {
    const name = `by itself ${index + 1}`;
    machine.add({ name, sender, kind: 'flag', column: levels(machine, name, [0, 1], [3, 9]) });
    return name;
  });
  machine.sequences.splice(0, Infinity, ...machine.sequences.map((each) => ({ ...each, strangers: names })));
}
