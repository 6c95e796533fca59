/** What there is to say of an action besides its links, for a person. */
import type { ActionPlan } from './plan.ts';
import type { Link, Power } from './types.ts';

/** Repetitions with which a responder is usually found. */
const ENOUGH_MARKS = 6;

const times = (n: number, noun: string): string => `${n} ${noun}${n === 1 ? '' : 's'}`;

function tooFew(n: number): string {
  return n < ENOUGH_MARKS ? `${times(n, 'mark')}: ${ENOUGH_MARKS - n} more would do` : '';
}

/** What would have been found. */
function powerWords({ flagAnswers, of, numberSd }: Power): string {
  const flag =
    flagAnswers === null
      ? 'not even a flag that answers every one of them and else rests would be beyond chance'
      : `a flag that else rests would have been found if it answered ${flagAnswers} of ${of}`;
  return `${flag}, a number if it moved by ${numberSd.toFixed(1)} standard deviations of its own changes each time`;
}

export function actionWords(plan: ActionPlan, sure: readonly Link[], tested: number, power: Power | null): string {
  const n = plan.marks.length;
  if (tested === 0) return 'no field moves while these marks last: nothing was tested';
  const few = tooFew(n);
  if (sure.length > 0) return few && n < 4 ? `few repetitions (${few})` : '';
  const found = power ? `. With so many marks ${powerWords(power)}` : '';
  if (few) return `nothing certain yet. ${few}${found}`;
  return (
    `no field of this capture answers, out of ${times(tested, 'test')} over ${n} marks: the signal may be on another bus, ` +
    `on a wire of its own or behind a gateway${found}`
  );
}

/** Of fields that answer what was done along with the action as well. */
export function ratherWords(fields: number, actions: readonly string[]): string {
  const names = actions.map((action) => `"${action}"`).join(' or ');
  return `${times(fields, 'link')} may rather be of ${names}, done along with it: the same field answers that too, and one of them also came alone`;
}
