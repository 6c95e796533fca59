/** A day in short: asleep, on, ready, driving, on again, asleep, charging, asleep; lengths drawn. */
import type { Random } from '../../../src/kit/random.ts';
import type { Mode, ModeSpan } from './plan.ts';

const DAY: readonly (readonly [Mode, number])[] = [
  ['asleep', 0.05],
  ['on', 0.13],
  ['ready', 0.06],
  ['driving', 0.32],
  ['on', 0.1],
  ['asleep', 0.1],
  ['charging', 0.16],
  ['asleep', 0.08],
];

export function drawDay(random: Random, durationS: number): ModeSpan[] {
  const shares = DAY.map(([, share]) => share * random.between(0.75, 1.25));
  const whole = shares.reduce((sum, share) => sum + share, 0);
  let fromUs = 0;
  return DAY.map(([mode], place) => {
    const toUs =
      place === DAY.length - 1 ? durationS * 1e6 : fromUs + ((shares[place] as number) / whole) * durationS * 1e6;
    const span = { mode, fromUs, toUs };
    fromUs = toUs;
    return span;
  });
}

export const steadyOn = (durationS: number): ModeSpan[] => [{ mode: 'on', fromUs: 0, toUs: durationS * 1e6 }];
