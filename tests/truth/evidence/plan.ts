/** What a person can do on a machine and how each thing tells of it: drawn once from the seed, the same for all recordings of it. */
import type { Random } from '../../../src/kit/random.ts';
import { chance } from '../stranger/draw.ts';
import type { MachineKind } from './kinds.ts';

/** How a switch shows on the bus. */
export const SHAPES = ['flag', 'inverse', 'number', 'pulse', 'toggle', 'pressCount', 'countRate'] as const;
export type Shape = (typeof SHAPES)[number];

export interface SwitchPlan {
  readonly action: string;
  readonly shape: Shape;
  /** Held for a while, or pressed and let go at once. */
  readonly held: boolean;
  /** Answers behind it: none, a relay, a relay and a current. */
  readonly chain: 0 | 1 | 2;
}

export interface Confound {
  readonly leader: string;
  readonly follower: string;
  /** The follower is done so much later, seconds. */
  readonly afterS: number;
}

export interface Plan {
  readonly switches: readonly SwitchPlan[];
  readonly modes: MachineKind['modes'];
  readonly levers: readonly string[];
  readonly silent: readonly string[];
  readonly idle: readonly string[];
  readonly confound: Confound | null;
}

const IDLE = ['knock', 'wave', 'call out'] as const;

function drawSwitch(random: Random, action: string): SwitchPlan {
  const shape = random.pick(SHAPES);
  const held = shape === 'toggle' || shape === 'pressCount' ? false : shape !== 'pulse' || chance(random, 0.5);
  return { action, shape, held, chain: random.pick([0, 0, 1, 2]) };
}

function drawConfound(random: Random, switches: readonly SwitchPlan[]): Confound {
  const [first, second] = switches as readonly [SwitchPlan, SwitchPlan];
  const leader = chance(random, 0.4) ? 'brake' : second.action;
  return { leader, follower: first.action, afterS: random.between(0.03, 0.4) };
}

/** confounded: two actions are always done together; null: in three of five machines. */
export function drawPlan(random: Random, kind: MachineKind, confounded: boolean | null): Plan {
  const names = random.shuffle([...kind.switches]).slice(0, 5);
  const switches = names.map((action) => drawSwitch(random.fork(action), action));
  const confound = drawConfound(random, switches);
  const drawn = chance(random, 0.6);
  return {
    switches,
    modes: kind.modes,
    levers: kind.levers,
    silent: [random.pick(kind.silent)],
    idle: random.shuffle([...IDLE]).slice(0, 2),
    confound: (confounded ?? drawn) ? confound : null,
  };
}
