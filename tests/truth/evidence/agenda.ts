/** Who does what when: a driver's feet and lever hand on one track, the other hand's switches on a second one, both at their own pace. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, whole } from '../stranger/draw.ts';
import type { MachineKind } from './kinds.ts';
import type { Confound, Plan } from './plan.ts';
import type { Doing } from './truth.ts';

/** How far it is pressed or pulled, -1 to 1. */
export interface Deed extends Doing {
  readonly level: number;
}

const deed = (action: string, startS: number, holdS: number | null, level = 1, value: string | null = null): Deed => ({
  action,
  startS,
  endS: holdS === null ? null : startS + holdS,
  value,
  level,
});

/** Three quick presses, so that the clocks can be brought together. */
export function syncTaps(random: Random, fromS: number): Deed[] {
  const everyS = random.between(0.45, 0.75);
  return [0, 1, 2].map((tap) =>
    deed('brake', fromS + tap * everyS + random.between(0, 0.04), random.between(0.12, 0.22), random.between(0.4, 0.8)),
  );
}

/** Not the place it is in; after standing always one that drives. */
function nextPlace(random: Random, places: readonly string[], now: number): number {
  const others = places.map((_, index) => index).filter((index) => index !== now && (now !== 0 || index > 0));
  return random.pick(others);
}

export function driveTrack(random: Random, kind: MachineKind, levers: readonly string[], fromS: number, toS: number) {
  const deeds: Deed[] = [];
  let atS = fromS;
  let place = 0;
  const act = (action: string, hold: readonly [number, number], low: number): void => {
    const holdS = random.between(...hold);
    const sign = levers.includes(action) && chance(random, 0.5) ? -1 : 1;
    deeds.push(deed(action, atS, holdS, sign * random.between(low, 1)));
    atS += holdS + random.between(0.6, 1.6);
  };
  while (atS < toS - 12) {
    place = nextPlace(random, kind.selector, place);
    deeds.push(deed('selector', atS, null, place, kind.selector[place] as string));
    atS += random.between(0.9, 1.8);
    for (let presses = whole(random, 1, 2); presses > 0; presses--) act('accelerate', [1, 3], 0.35);
    act('brake', [0.6, 2], 0.25);
    for (const lever of random.shuffle([...levers])) if (chance(random, 0.6)) act(lever, [0.7, 1.7], 0.35);
  }
  return deeds;
}

interface Hand {
  readonly action: string;
  readonly held: boolean;
  readonly values: readonly string[] | null;
}

function handsOf({ switches, modes, confound }: Plan): Hand[] {
  return [
    ...switches.filter(({ action }) => action !== confound?.follower).map((each) => ({ ...each, values: null })),
    ...modes.map(([action, values]) => ({ action, held: false, values })),
  ];
}

/** One after the other in drawn order, spread over the time there is. */
export function handTrack(random: Random, plan: Plan, fromS: number, toS: number): Deed[] {
  const hands = handsOf(plan);
  const most = Math.floor((toS - fromS) / 3 / Math.max(1, hands.length));
  const turns = hands.flatMap((hand) => Array<Hand>(Math.max(5, Math.min(9, most + whole(random, -1, 1)))).fill(hand));
  const everyS = (toS - fromS) / turns.length;
  const places = new Map<string, number>();
  return random.shuffle(turns).map(({ action, held, values }, turn): Deed => {
    const startS = fromS + (turn + random.between(0, 0.3)) * everyS;
    if (!values) return deed(action, startS, held ? random.between(0.25, 0.6) * everyS : null, random.between(0.4, 1));
    const place = nextPlace(random, values, places.get(action) ?? 0);
    places.set(action, place);
    return deed(action, startS, null, place, values[place]);
  });
}

export function followers(
  random: Random,
  { leader, follower, afterS }: Confound,
  deeds: readonly Deed[],
  held: boolean,
) {
  return deeds
    .filter(({ action }) => action === leader)
    .map(({ startS, endS }) => {
      const from = startS + afterS * random.between(0.7, 1.3);
      const hold = endS === null ? random.between(0.4, 1) : Math.max(0.2, endS - startS + random.between(-0.1, 0.1));
      return deed(follower, from, held ? hold : null, random.between(0.4, 1));
    });
}

/** At any time, whatever else goes on. */
export function atRandom(random: Random, action: string, fromS: number, toS: number): Deed[] {
  const spans = chance(random, 0.5);
  return Array.from({ length: whole(random, 5, 9) }, () =>
    deed(action, random.between(fromS, toS - 3), spans ? random.between(0.4, 2) : null),
  ).sort((a, b) => a.startS - b.startS);
}
