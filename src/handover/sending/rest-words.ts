/**
 * What a person's mark says of being at rest. Words are free, so words are looked for: "at rest", "parked", "in park", "rest". What stands behind "no", "not" or
 * "without" up to the next comma is denied, not said: "at rest (park, no pedal, not charging)" speaks of no pedal. Common practice, no source.
 */
import type { Mark } from '../../actions/types.ts';

const REST = /\b(at rest|resting|rests|parked|in park|left alone)\b|^\s*rest\b/;
const DENIED = /\b(no|not|nobody|never|without|nothing)\b[^,;:.()]*/g;
const PEDAL = /\b(pedals?|accelerat\w*|throttle|kickdown|brak\w*|clutch|paddles?|regen\w*)\b/;
/** Held by hand or by a motor of its own, and no pedal. */
const PARKING_BRAKE = /\b(hand|park(ing)?|holding|electric)[ -]?brakes?\b|\bhandbrakes?\b|\bbrake (lamp|light)s?\b/g;
const CHARGES = /\b(charg\w*|plugged in|plug inserted|wall ?box)\b/;
const MOVES = /\b(driv(e|es|ing)|drove|moving|rolling|towed|pushed)\b/;

const plain = ({ action, value = '' }: Pick<Mark, 'action' | 'value'>): string =>
  `${action} ${value}`.toLowerCase().replace(/[_\-/]+/g, ' ');

const said = (mark: Pick<Mark, 'action' | 'value'>): string => plain(mark).replace(DENIED, ' ');

export const saysAtRest = (mark: Pick<Mark, 'action' | 'value'>): boolean => REST.test(said(mark));

/** A pedal, a paddle: anything that asks for torque or takes it. */
export const saysPedal = (mark: Pick<Mark, 'action' | 'value'>): boolean =>
  PEDAL.test(said(mark).replace(PARKING_BRAKE, ' '));

/** What a mark that says "at rest" says against it; null where nothing. */
export function contradictsItself(mark: Pick<Mark, 'action' | 'value'>): string | null {
  const words = said(mark).replace(PARKING_BRAKE, ' ');
  if (PEDAL.test(words)) return 'its own words speak of a pedal';
  if (CHARGES.test(words)) return 'its own words speak of charging';
  return MOVES.test(words) ? 'its own words speak of moving' : null;
}
