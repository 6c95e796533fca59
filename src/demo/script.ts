/**
 * What the driver does, and when: a list of actions with spans, written from a seed so that pauses, lengths and pedal
 * depths all differ and nothing merely repeats. Times are seconds of simulated time, 0 where the logger starts listening.
 */
import { createRandom, type Random } from '../kit/random.ts';
import type { ModuleRole } from './quantities.ts';

export const ACTIONS = {
  key: 'key turned',
  accelerator: 'accelerator pressed',
  brake: 'brake pressed',
  selector: 'selector moved',
  paddle: 'regen paddle',
  indicator: 'indicator left',
  door: 'door opened',
  handbrake: 'handbrake pulled',
  heater: 'heater on',
  plug: 'plug inserted',
} as const;
export type ActionName = (typeof ACTIONS)[keyof typeof ACTIONS];

/** Deeper than a pedal goes: the foot rests on the stop. */
export const TO_THE_FLOOR = 1.25;

export interface DriverAction {
  readonly action: ActionName;
  readonly startS: number;
  /** null: an instant. */
  readonly endS: number | null;
  /** Pedals: depth 0..1. */
  readonly depth?: number;
  /** Key: off, on, start. Selector: P, N, R, D. */
  readonly value?: string;
}

export interface DriverScript {
  readonly durationS: number;
  /** Whether the vehicle is asleep or ready at time 0. */
  readonly begins: 'asleep' | 'ready';
  /** Modules whose plug is off. */
  readonly unplugged: readonly ModuleRole[];
  /** The pyro fuse has fired: the pack is off its terminals and knows it; contactors stay open. */
  readonly fuseFired?: boolean;
  readonly actions: readonly DriverAction[];
  /** For the tremor of the foot, the road and sensor noise. */
  readonly seed: number;
}

export interface ScriptShape {
  readonly durationS: number;
  readonly begins?: 'asleep' | 'ready';
  readonly ends?: 'asleep' | 'ready';
  /** Charge for some seconds after the key is off. */
  readonly charges?: boolean;
  readonly unplugged?: readonly ModuleRole[];
}

class Hand {
  readonly actions: DriverAction[] = [];
  nowS = 0;
  constructor(readonly random: Random) {}

  pause(low: number, high: number): void {
    this.nowS += this.random.between(low, high);
  }
  /** An action over a span; returns when it ends, without waiting for it. */
  span(action: ActionName, lengthS: number, more: Partial<DriverAction> = {}): number {
    this.actions.push({ action, startS: this.nowS, endS: this.nowS + lengthS, ...more });
    return this.nowS + lengthS;
  }
  hold(action: ActionName, low: number, high: number, more: Partial<DriverAction> = {}): void {
    this.nowS = this.span(action, this.random.between(low, high), more);
  }
  instant(action: ActionName, value: string): void {
    this.actions.push({ action, startS: this.nowS, endS: null, value });
  }
}

function standStill(hand: Hand): void {
  hand.hold(ACTIONS.brake, 3.6, 4.6, { depth: hand.random.between(0.55, 0.75) });
}

/** The selector only moves with the vehicle standing and the foot on the brake. */
function moveSelector(hand: Hand, value: string): void {
  standStill(hand);
  const last = hand.actions[hand.actions.length - 1] as DriverAction;
  hand.actions.push({ action: ACTIONS.selector, startS: last.startS + 2.9, endS: null, value });
  hand.pause(0.6, 1.4);
}

function wake(hand: Hand): void {
  hand.pause(1.2, 2);
  hand.hold(ACTIONS.door, 2.2, 3.4);
  hand.pause(2.5, 3.5);
  hand.instant(ACTIONS.key, 'on');
  hand.pause(2.2, 3);
  const release = hand.span(ACTIONS.brake, hand.random.between(2.4, 3.2), { depth: 0.5 });
  hand.pause(0.7, 1.1);
  hand.instant(ACTIONS.key, 'start');
  hand.nowS = release;
  hand.pause(1.2, 2.4);
}

function shutDown(hand: Hand): void {
  moveSelector(hand, 'P');
  hand.hold(ACTIONS.handbrake, 1.2, 1.8);
  hand.pause(0.8, 1.6);
  hand.instant(ACTIONS.key, 'off');
}

/** One stretch of road: away, sometimes a paddle, sometimes an indicator, and slower again. */
function lap(hand: Hand, brisk: boolean): void {
  const { random } = hand;
  if (random.next() < 0.35) hand.span(ACTIONS.indicator, random.between(2.5, 5));
  hand.pause(0.3, 0.9);
  hand.hold(ACTIONS.accelerator, brisk ? 1.4 : 2.4, brisk ? 2.4 : 4.4, { depth: random.between(0.4, 0.95) });
  hand.pause(0.7, 2.1);
  if (random.next() < 0.3) {
    hand.hold(ACTIONS.paddle, 1, 2);
    hand.pause(0.5, 1.4);
  }
  hand.hold(ACTIONS.brake, brisk ? 1.1 : 1.6, brisk ? 1.8 : 2.8, { depth: random.between(0.3, 0.6) });
  hand.pause(0.6, 2.2);
}

const SELECTOR_TOUR: readonly (readonly string[])[] = [
  ['N', 'D'],
  ['R', 'D'],
  ['N', 'R', 'D'],
  ['R', 'N', 'D'],
];

function tour(hand: Hand, index: number): void {
  for (const value of SELECTOR_TOUR[index % SELECTOR_TOUR.length] as string[]) {
    moveSelector(hand, value);
    if (value === 'R') hand.hold(ACTIONS.accelerator, 0.9, 1.5, { depth: hand.random.between(0.2, 0.35) });
    hand.pause(0.5, 1.2);
  }
}

/** Drives until a moment, with stops for selector, door and heater on the way. */
function drive(hand: Hand, untilS: number, brisk: boolean): void {
  let laps = 0;
  let tours = 0;
  const stopEvery = brisk ? 3 : 4;
  while (hand.nowS < untilS) {
    lap(hand, brisk);
    laps++;
    if (laps % 3 === 2) hand.span(ACTIONS.heater, hand.random.between(14, 24));
    if (laps % stopEvery === 0 && hand.nowS + 16 < untilS) tour(hand, tours++);
    if (laps % 5 === 3 && hand.nowS + 9 < untilS) {
      standStill(hand);
      hand.pause(0.4, 0.9);
      hand.hold(ACTIONS.door, 1.5, 3);
      hand.pause(0.8, 1.6);
    }
  }
}

/** Spans of one action never touch: a later one that would start within the one before is left out. */
function separate(actions: readonly DriverAction[]): DriverAction[] {
  const lastEnd = new Map<string, number>();
  return [...actions]
    .sort((a, b) => a.startS - b.startS)
    .filter((action) => {
      if (action.startS < (lastEnd.get(action.action) ?? -1) + 0.4) return false;
      lastEnd.set(action.action, action.endS ?? action.startS);
      return true;
    });
}

export function writeScript(seed: number, shape: ScriptShape): DriverScript {
  const hand = new Hand(createRandom(seed).fork('script'));
  const { durationS, begins = 'asleep', ends = 'asleep', charges = false, unplugged = [] } = shape;
  const tail = (ends === 'asleep' ? 16 : 0) + (charges ? 44 : 0);
  if (begins === 'asleep') {
    wake(hand);
    moveSelector(hand, 'D');
  } else hand.pause(1.5, 2.5);
  drive(hand, durationS - tail - 8, durationS < 120);
  if (ends === 'asleep') shutDown(hand);
  if (charges) {
    hand.pause(4, 5);
    hand.hold(ACTIONS.plug, 30, 32);
  }
  const actions = separate(hand.actions).filter((action) => (action.endS ?? action.startS) < durationS - 0.5);
  return { durationS, begins, unplugged, actions, seed };
}
