/** Modes as the page keeps them: which marks are worth asking with, and the survey with the modes that they name. */
import type { Mark } from '../../actions/types.ts';
import type { ModesAnswer } from '../../jobs/engine-types.ts';
import { readMark } from '../../timing/modes/mark-states.ts';
import type { ModeMark, Survey } from '../../timing/types.ts';

/** Thousandths of a second: a mark that moves by less names the same. */
const round = (s: number): number => Math.round(s * 1000) / 1000;

/** Marks that say something of the vehicle's mode, plain enough to be posted. @param marks on the ruler */
export function modesTold(marks: readonly Mark[]): ModeMark[] {
  return marks
    .map(({ action, startS, endS, value }) => ({
      action,
      startS: round(startS),
      endS: endS === null ? null : round(endS),
      ...(value ? { value } : {}),
    }))
    .filter((mark) => readMark(mark) !== null);
}

const named = new WeakMap<Survey, { readonly answer: ModesAnswer; readonly survey: Survey }>();

/** The same survey and answer give the same object. An answer about other identifiers, of another span, is left aside. */
export function withModes(survey: Survey, answer: ModesAnswer | null): Survey {
  if (!answer || answer.timings.length !== survey.frames.length) return survey;
  const known = named.get(survey);
  if (known?.answer === answer) return known.survey;
  const frames = survey.frames.map((frame, place) => ({ ...frame, timing: answer.timings[place] ?? frame.timing }));
  const made = { ...survey, modes: answer.modes, frames };
  named.set(survey, { answer, survey: made });
  return made;
}
