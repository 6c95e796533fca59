/** Which signals may move the machine or switch its battery, by their role, unit and name. In doubt one more is held back: a person can release it by name. */
import type { MapSignal } from '../map/schema.ts';
import { asSeen, plainWords } from './look-alike.ts';

/**
 * Words of the trade for what moves a machine or connects its battery, and for what somebody asks of it; common practice, no source. A pedal counts as a torque
 * does: the module that hears it makes one of it.
 */
const MOVES_THE_MACHINE = new RegExp(
  [
    'torque|moment\\b|drehmoment|couple\\b|contactor|contacteur|kontaktor|relay|relais|pre ?charge|enable|drive ?(allowed|ready|permi\\w*)',
    'accelerator|throttle|kickdown|pedal|gear|shifter|selector|prnd|cruise|creep|park(ing)? ?(brake|lock|pawl)|brake ?release',
    'request|demand|command|cmd|set ?points?\\b|target|wanted|desired|soll',
  ].join('|'),
);
/** The same in another alphabet. */
const MOVES_IN_CYRILLIC = /момент|контактор|реле|педал|запрос|запит/;
const TORQUE_UNIT = /^(k?n ?m|lbf? ?ft|ft ?lbf?)$/;
const TORQUE_UNIT_IN_CYRILLIC = /^к?н ?м$/;

export function mayCommand({ role, unit, name }: Pick<MapSignal, 'role' | 'unit' | 'name'>): boolean {
  if (role === 'command' || role === 'enable') return true;
  if (TORQUE_UNIT.test(asSeen(unit.toLowerCase())) || TORQUE_UNIT_IN_CYRILLIC.test(plainWords(unit.toLowerCase())))
    return true;
  return MOVES_THE_MACHINE.test(asSeen(name)) || MOVES_IN_CYRILLIC.test(plainWords(name));
}
