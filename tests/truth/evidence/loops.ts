/**
 * A function that one module commands and another one carries out: command, feedback, limit, enable, fault, state and echo, each in
 * a frame of whoever knows it. How the feedback follows is drawn: first or second order, dead time, limited rate, dead band.
 */
import type { Random } from '../../../src/kit/random.ts';
import { chance } from '../stranger/draw.ts';
import {
  change,
  combine,
  deadTime,
  lag,
  limitRate,
  paint,
  saturate,
  STEP_S,
  swing,
  timesOf,
  type Column,
} from './columns.ts';
import type { Machine, Pace } from './machine.ts';
import type { TruePair } from './truth.ts';

export const FOLLOWING = ['first', 'second', 'rate', 'dead', 'sticky'] as const;

export interface LoopHabits {
  readonly follows: (typeof FOLLOWING)[number];
  /** From command to the middle of the feedback. */
  readonly lagS: number;
  readonly has: Readonly<Record<'limit' | 'enable' | 'fault' | 'state' | 'echo' | 'lost', boolean>>;
  /** What the commander does when nobody answers. */
  readonly gone: 'keeps' | 'zero';
  readonly echoS: number;
  readonly holdS: number;
  readonly leadS: number;
}

export function drawHabits(random: Random, lagMs: readonly [number, number] = [5, 800]): LoopHabits {
  const has = (share: number): boolean => chance(random, share);
  return {
    follows: random.pick(FOLLOWING),
    lagS: (lagMs[0] * (lagMs[1] / lagMs[0]) ** random.next()) / 1000,
    has: { limit: has(0.6), enable: has(0.6), fault: has(0.5), state: has(0.6), echo: has(0.5), lost: has(0.6) },
    gone: random.pick(['keeps', 'zero']),
    echoS: random.between(0.005, 0.04),
    holdS: random.between(0.3, 2),
    leadS: random.between(0.02, 0.08),
  };
}

/** [steps] how the part comes after its command. most: its range. */
export function follow(command: Column, { follows, lagS }: LoopHabits, most: number): Column {
  if (follows === 'dead') return deadTime(command, lagS);
  const late = deadTime(command, lagS * 0.35);
  if (follows === 'first') return lag(late, lagS * 0.9);
  if (follows === 'second') return swing(late, Math.min(20, 0.25 / lagS), 0.6);
  if (follows === 'rate') return limitRate(late, most / (lagS * 2), most / (lagS * 1.3));
  let held = 0;
  return lag(
    change(late, (value) => (Math.abs(value - held) > most * 0.02 || value === 0 ? (held = value) : held)),
    lagS * 0.9,
  );
}

/** Goes down and up again now and then, seldom below the half. */
export function drawLimit(machine: Machine, loop: string, most: number): Column {
  const random = machine.happenings.fork(`${loop} limit`);
  const column = machine.zero(most);
  for (let atS = random.between(4, 20); atS < machine.seconds; atS += random.between(10, 30))
    paint(column, atS, machine.seconds + 1, most * random.pick([1, 1, 0.85, 0.7, 0.55, random.between(0.4, 1)]));
  return limitRate(column, most * 0.2, most * 0.6);
}

/** In half of all recordings one to three faults of a few seconds. */
export function drawFault(machine: Machine, loop: string): Column {
  const random = machine.happenings.fork(`${loop} fault`);
  const column = machine.zero();
  const times = chance(random, 0.5) ? random.pick([1, 2, 3]) : 0;
  for (let turn = 0; turn < times; turn++) {
    const atS = ((turn + random.between(0.3, 0.8)) / times) * machine.seconds;
    paint(column, atS, atS + random.between(2, 5), 1);
  }
  return column;
}

/** 0 where an interlock takes the enable away though something is asked for: in six recordings of ten, one to three times. */
export function drawInterlock(machine: Machine, loop: string): Column {
  const random = machine.happenings.fork(`${loop} interlock`);
  const column = machine.zero(1);
  const times = chance(random, 0.6) ? random.pick([1, 2, 3]) : 0;
  for (let turn = 0; turn < times; turn++) {
    const atS = ((turn + random.between(0.2, 0.8)) / times) * machine.seconds;
    paint(column, atS, atS + random.between(3, 7), 0);
  }
  return column;
}

const HEARD_S = 0.06;
/** The interlock as the part knows it, where there is an enable to tell it by. */
export const heardInterlock = (interlock: Column, { has }: LoopHabits): Column =>
  has.enable ? deadTime(interlock, HEARD_S) : change(interlock, () => 1);

const SHOWN_S = 0.3;

/** How often the recording shows what the loop's limit, enable and fault are for. free: the feedback without its limit. */
function noteShown(machine: Machine, parts: LoopParts): void {
  const { loop, most, free, limit, command, enable, fault, habits } = parts;
  const isAsked = (step: number): boolean => Math.abs(command[step] as number) > most * 0.1;
  const isHeld = (value: number, step: number): boolean =>
    (limit[step] as number) < most * 0.97 && Math.abs(value) > (limit[step] as number);
  machine.shown.set(`${loop} limit`, timesOf(free, isHeld, SHOWN_S));
  machine.shown.set(
    `${loop} enable`,
    timesOf(enable, (value, step) => value === 0 && isAsked(step), SHOWN_S + 2 * habits.lagS),
  );
  machine.shown.set(
    `${loop} fault`,
    timesOf(fault, (value, step) => value === 1 && isAsked(step), SHOWN_S),
  );
  machine.shown.set(`${loop} lost`, machine.silencesOf(parts.actuator).length);
}

/** On a little before the command, off a while after it. */
export function enableOf(demand: Column, { holdS }: LoopHabits): Column {
  const still = Math.round(holdS / STEP_S);
  let rest = 0;
  return change(demand, (value) => {
    rest = value !== 0 ? still : Math.max(0, rest - 1);
    return rest > 0 ? 1 : 0;
  });
}

export interface LoopParts {
  readonly loop: string;
  readonly commander: string;
  readonly actuator: string;
  readonly unit: string;
  readonly most: number;
  readonly signed: boolean;
  readonly pace: Pace;
  readonly feedbackName: string;
  readonly commandName: string;
  readonly command: Column;
  readonly feedback: Column;
  /** Feedback as it would be without its limit. */
  readonly free: Column;
  readonly enable: Column;
  readonly limit: Column;
  readonly fault: Column;
  readonly habits: LoopHabits;
  /** How surely the feedback is a measured value. */
  readonly noise: number;
}

const faultAfterS = 0.3;
/** Nothing heard for so long counts as lost. */
const LOST_AFTER_S = 0.25;

/** 1 while nothing has come from a module for a while. */
function lostOf(machine: Machine, module: string): Column {
  const column = machine.zero();
  for (const { fromS, toS } of machine.silencesOf(module)) paint(column, fromS + LOST_AFTER_S, toS + 0.02, 1);
  return column;
}

function tellFlags(machine: Machine, parts: LoopParts, pair: PairMaker): void {
  const { loop, commander, actuator, habits, enable, fault, pace } = parts;
  const { has } = habits;
  const gone = (module: string, column: Column): Column => {
    if (machine.isThere(module)) return column;
    const lost = machine.zero(1);
    paint(lost, 0, faultAfterS, 0);
    return lost;
  };
  const flag = { kind: 'flag', pace: pace === 'fast' ? 'medium' : pace } as const;
  if (has.enable) {
    machine.add({ ...flag, name: `${loop} enable`, sender: commander, role: 'enable', column: enable });
    pair('enable', `${loop} enable`, null);
  }
  if (has.fault) {
    const column = gone(commander, fault);
    machine.add({ ...flag, name: `${loop} fault`, sender: actuator, role: 'fault', column });
    pair('fault', `${loop} fault`, null);
  }
  if (has.lost) {
    const column = gone(actuator, lostOf(machine, actuator));
    machine.add({ ...flag, name: `${loop} lost`, sender: commander, role: 'fault', column });
    pair('fault', `${loop} lost`, null);
  }
}

function tellState(machine: Machine, parts: LoopParts, pair: PairMaker, random: Random): void {
  const { loop, actuator, most, feedback, enable, fault } = parts;
  const codes = random.shuffle([0, 1, 2, 3, 4, 5, 6, 7]);
  const column = enable.map((on, step) => {
    const turns = Math.abs(feedback[step] as number) > most * 0.03;
    return codes[fault[step] ? 3 : turns ? 2 : on ? 1 : 0] as number;
  });
  machine.add({ name: `${loop} state`, sender: actuator, role: 'state', kind: 'states', low: 0, high: 7, column });
  pair('state', `${loop} state`, null);
}

type PairMaker = (role: TruePair['role'], partner: string, lagS: number | null) => void;

/** Says all of it in frames of the modules that know it, and notes which belongs to which. */
export function tellLoop(machine: Machine, random: Random, parts: LoopParts): void {
  const { loop, commander, actuator, habits, most, signed, unit, pace, command, feedback, limit } = parts;
  const pair: PairMaker = (role, partner, lagS) =>
    machine.pairs.push({ loop, command: parts.commandName, partner, role, commander, actuator, lagS });
  const range = { low: signed ? -most : 0, high: most, unit, pace };
  machine.add({ ...range, name: parts.commandName, sender: commander, role: 'command', column: command });
  const noise = parts.noise * most;
  machine.add({ ...range, name: parts.feedbackName, sender: actuator, role: 'feedback', column: feedback, noise });
  pair('feedback', parts.feedbackName, habits.lagS);
  if (habits.has.limit) {
    machine.add({ name: `${loop} limit`, sender: actuator, role: 'limit', unit, low: 0, high: most, column: limit });
    pair('limit', `${loop} limit`, null);
  }
  if (habits.has.echo) {
    const reached = machine.isThere(commander)
      ? deadTime(machine.heard(command, commander, pace), habits.echoS)
      : machine.zero();
    machine.add({ ...range, name: `${loop} echo`, sender: actuator, role: 'echo', column: reached });
    pair('echo', `${loop} echo`, habits.echoS);
  }
  tellFlags(machine, parts, pair);
  noteShown(machine, parts);
  if (habits.has.state) tellState(machine, parts, pair, random);
}

export interface LoopWish {
  readonly loop: string;
  readonly commander: string;
  readonly actuator: string;
  readonly demand: Column;
  readonly most: number;
  readonly unit: string;
  readonly signed: boolean;
}

/** A loop of its own, with everything drawn. Gives the feedback and its habits. demand: -1 to 1. */
export function addLoop(machine: Machine, random: Random, wish: LoopWish): { feedback: Column; habits: LoopHabits } {
  const { loop, commander, actuator, demand, most, signed, unit } = wish;
  const habits = drawHabits(random);
  const limit = drawLimit(machine, loop, most);
  const fault = drawFault(machine, loop);
  const asked = change(deadTime(demand, habits.leadS), (value) => value * most);
  const alone = !machine.isThere(actuator);
  const command = alone && habits.gone === 'zero' ? machine.zero() : asked;
  const pace: Pace = habits.lagS < 0.1 ? 'fast' : 'medium';
  const heard = machine.isThere(commander) && !alone ? machine.heard(command, commander, pace) : machine.zero();
  const interlock = drawInterlock(machine, loop);
  const sound = combine(heard, fault, (value, broken) => (broken ? 0 : value));
  const working = combine(sound, heardInterlock(interlock, habits), (value, on) => value * on);
  const free = follow(working, habits, most);
  const feedback = combine(free, limit, (value, end) => Math.max(-end, Math.min(end, value)));
  const enable = combine(enableOf(demand, habits), interlock, (on, may) => on * may);
  const names = { commandName: `${loop} command`, feedbackName: `${loop} feedback` };
  const ends = saturate(feedback, signed ? -most * 1.2 : 0, most * 1.2);
  const parts = {
    loop,
    commander,
    actuator,
    unit,
    most,
    signed,
    pace,
    ...names,
    command,
    free,
    enable,
    limit,
    fault,
    habits,
  };
  tellLoop(machine, random.fork('tell'), { ...parts, feedback: ends, noise: random.pick([0, 0.002, 0.006]) });
  return { feedback: ends, habits };
}
