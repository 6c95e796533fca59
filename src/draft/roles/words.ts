/** A role and its reasons for a person. */
import type { FieldPlace, RoleReason } from './types.ts';

const nameOf = (place: FieldPlace | undefined): string => (place ? `${place.field} of ${place.id} (${place.bus})` : '');

const number = (figures: RoleReason['figures'], key: string): string => String(figures[key] ?? '?');

const interval = (figures: RoleReason['figures']): string => {
  const ends = figures['lagMsInterval'];
  return Array.isArray(ends) ? `${ends[0]} to ${ends[1]}` : '?';
};

const lagWords = (figures: RoleReason['figures']): string =>
  `by ${number(figures, 'lagMs')} ms (${interval(figures)}; more than ${number(figures, 'tellingMs')} tells), R² ${number(figures, 'r2')} over ${number(figures, 'n')} instants${figures['sizes'] === 'own' ? ', each time to a size of its own' : ''}${'heldBack' in figures ? `, held back below it ${number(figures, 'heldBack')} times besides` : ''}`;

function troubleOf(other: FieldPlace | undefined, figures: RoleReason['figures']): string {
  if (figures['trouble'] === 'silent') return `while ${number(figures, 'silent')} sends nothing`;
  return figures['trouble'] === 'no data'
    ? `while ${nameOf(other)} shows its highest code`
    : `while ${nameOf(other)} does not do what it is asked for`;
}

const WORDS: { readonly [Kind in RoleReason['kind']]: (reason: RoleReason) => string } = {
  leads: ({ with: other, figures }) =>
    other
      ? `${nameOf(other)} follows it ${lagWords(figures)}, as something with a time constant of ${number(figures, 'constantMs')} ms`
      : 'what a command follows, with nothing before it',
  open: ({ with: other, figures }) =>
    `${nameOf(other)} follows it ${lagWords(figures)}, and nothing goes before it: a command, or what a person moves`,
  follows: ({ with: other, figures }) =>
    `it follows ${nameOf(other)} ${lagWords(figures)}, with a time constant of ${number(figures, 'constantMs')} ms`,
  copies: ({ with: other, figures }) => `it shows the same as ${nameOf(other)}, later ${lagWords(figures)}`,
  behind: ({ with: other, figures }) =>
    'sumOverTime' in figures
      ? `its changes go with the level of ${nameOf(other)} (rank correlation ${number(figures, 'rho')}): a sum over time, no command`
      : `its sender obeys ${nameOf(other)}, and it goes with that (rank correlation ${number(figures, 'rho')})`,
  bounds: ({ with: other, figures }) =>
    `${nameOf(other)} never goes beyond it (${number(figures, 'exceeds')} of ${number(figures, 'n')} instants) and went along it ${number(figures, 'times')} times at ${number(figures, 'levels')} heights, ${number(figures, 'seconds')} s in all, q ${number(figures, 'q')}`,
  enables: ({ with: other, figures }) =>
    `${nameOf(other)} acts only while it is ${number(figures, 'value')}, ${number(figures, 'turns')} times (without it ${number(figures, 'without')} of the acting); asked for without it ${number(figures, 'asked')} times, not answered ${number(figures, 'refused')} times, q ${number(figures, 'q')}`,
  warns: ({ with: other, figures }) =>
    `it is ${number(figures, 'value')} only ${troubleOf(other, figures)}, ${number(figures, 'times')} times, q ${number(figures, 'q')}`,
  answers: ({ figures }) => `it answers first when "${number(figures, 'action')}"`,
  values: ({ figures }) => `${number(figures, 'values')} values, ${number(figures, 'changes')} changes`,
};

export function wordsOf(reasons: readonly RoleReason[]): string {
  if (reasons.length === 0) return 'not enough evidence for a role';
  return reasons.map((reason) => WORDS[reason.kind](reason)).join('; ');
}
