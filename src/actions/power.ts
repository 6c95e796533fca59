/**
 * What would have been found, where nothing was: in how many of the marks a flag that otherwise rests must have answered, and how far a number must have moved each time,
 * to be claimed among as many tests. A number's responses are taken as normal, whose rate function is m^2 / 2 (Cramér 1938).
 */
import { natsToClaim } from './claims.ts';
import type { ActionEvidence } from './evidence.ts';
import { sumAtShift, viewField } from './field-view.ts';
import { GRID_S, SHIFT_S, type Circle, type GriddedField } from './grid.ts';
import { surprise } from './rate-function.ts';
import type { Power } from './types.ts';

/** Such a flag is up for so long. */
const UP_S = 1;

/** A flag that answers so many of the marks, spread over them, and nothing else. */
function restingFlag(atS: readonly number[], answered: number, circle: Circle): GriddedField {
  const value = new Float64Array(circle.points);
  const present = new Uint8Array(circle.points).fill(1);
  for (let k = 0; k < answered; k++) {
    const at = atS[Math.floor(((k + 0.5) * atS.length) / answered)] as number;
    const from = Math.round((at - circle.fromS) / GRID_S);
    for (let point = Math.max(0, from); point < Math.min(circle.points, from + UP_S / GRID_S); point++)
      value[point] = 1;
  }
  return { value, present, least: 0, greatest: 1, intervalS: GRID_S };
}

/** Fewest answers of a resting flag that are as surprising; null where not even all of them are. */
function answersNeeded({ plan }: ActionEvidence, nats: number, shift: number, circle: Circle): number | null {
  const train = plan.questions[0]?.trains[0];
  if (!train) return null;
  const atS = train.events.map((event) => event.atS + shift * SHIFT_S);
  for (let answered = 1; answered <= atS.length; answered++) {
    const view = viewField(restingFlag(atS, answered, circle), circle);
    if (surprise(view.table(train), sumAtShift(view, train, shift)) >= nats) return answered;
  }
  return null;
}

/** @param shift where the marks were taken to lie, in steps of SHIFT_S */
export function powerOf(action: ActionEvidence, shift: number, circle: Circle): Power | null {
  const nats = natsToClaim(action);
  if (nats === null) return null;
  const of = action.plan.marks.length;
  return { flagAnswers: answersNeeded(action, nats, shift, circle), of, numberSd: Math.sqrt((2 * nats) / of) };
}
