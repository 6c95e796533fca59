/** Whether each action was done often enough to be told from chance, was answered, and can be told from the others. */
import { CLAIM_Q } from '../../actions/claims.ts';
import { isTold, togetherByAction, togetherWords } from '../../actions/separation.ts';
import type { ActionLinks, LinkReport, Mark, Together } from '../../actions/types.ts';
import type { Need, Verdict } from './types.ts';

/**
 * Repetitions that an answer takes: a flag that rests otherwise and answers five in a row by chance at rates of one in ten does so once in 1e5,
 * which hundreds of fields leave sure; four do not.
 */
export const TIMES_ENOUGH = 5;

interface Answered {
  /** Most marks that one sure answer keeps time with; 0 where nothing surely answers. */
  readonly times: number;
  readonly fields: number;
}

function answeredOf({ links }: ActionLinks): Answered {
  const sure = links.filter(({ q }) => q <= CLAIM_Q);
  return {
    times: sure.reduce((most, { moves, inTime, n }) => Math.max(most, moves?.at ?? inTime ?? n), 0),
    fields: sure.length,
  };
}

function saysOf(times: number, answered: Answered | null): string {
  const done = times === 1 ? 'Done once' : `Done ${times} times`;
  if (times < TIMES_ENOUGH) return `${done}; ${TIMES_ENOUGH} take chance out of what answers.`;
  if (!answered) return `${done}; whether anything answers was not looked for.`;
  if (answered.fields === 0)
    return `${done}, and nothing surely answers: no module may send it, or the marks may be off.`;
  const fields = answered.fields === 1 ? 'one field' : `${answered.fields} fields`;
  return answered.times >= TIMES_ENOUGH
    ? `${done}; ${fields} answer, the best ${answered.times} times.`
    : `${done}, yet the best of ${fields} answers only ${answered.times} of them.`;
}

function repetitionNeed(action: string, marks: readonly Mark[], links: LinkReport | null): Need {
  const own = marks.filter((mark) => mark.action === action);
  const linked = links?.actions.find((each) => each.action === action);
  const answered = linked ? answeredOf(linked) : null;
  const isOften = own.length >= TIMES_ENOUGH;
  const isAnswered = answered !== null && answered.times >= TIMES_ENOUGH;
  const verdict: Verdict = !isOften ? 'short' : isAnswered ? 'enough' : answered?.times ? 'short' : 'cannot-tell';
  return {
    key: `repetitions ${action}`,
    what: 'repetitions',
    about: action,
    verdict,
    figures: {
      times: own.length,
      ...(answered ? { answered: answered.times, fields: answered.fields } : {}),
    },
    says: saysOf(own.length, answered),
    moments: own.map(({ startS }) => startS),
  };
}

/** Of two ways round, the one that says more: nothing told before something told. */
function apartNeed(action: string, together: Together): Need {
  const [first, second] = [action, together.action].sort() as [string, string];
  return {
    key: `apart ${first} / ${second}`,
    what: 'apart',
    about: `${first} / ${second}`,
    verdict: 'short',
    figures: { together: together.times, of: together.of, alone: together.alone },
    says: `"${action}": ${togetherWords(together)}.`,
  };
}

/** Confounds that the recording leaves: each pair once. */
function apartNeeds(marks: readonly Mark[]): Need[] {
  const byPair = new Map<string, Need>();
  for (const [action, all] of togetherByAction(marks))
    for (const together of all.filter((each) => !isTold(each))) {
      const need = apartNeed(action, together);
      if (!byPair.has(need.key)) byPair.set(need.key, need);
    }
  return [...byPair.values()];
}

/** @param marks on the capture's clock */
export function actionNeeds(marks: readonly Mark[], links: LinkReport | null): readonly Need[] {
  const actions = [...new Set(marks.map(({ action }) => action))];
  if (actions.length === 0)
    return [
      {
        key: 'marks',
        what: 'marks',
        about: '',
        verdict: 'short',
        figures: { marks: 0 },
        says: 'Nothing was marked: no field can be tied to anything that was done.',
      },
    ];
  return [...actions.map((action) => repetitionNeed(action, marks, links)), ...apartNeeds(marks)];
}
