/** A law between fields for a person, with its figures. */
import type { CheckMember, CrossCheck } from './types.ts';

const named = ({ place }: CheckMember): string => `${place.field} of ${place.id} (${place.bus})`;
const percent = (share: number): string => `${(100 * share).toPrecision(2)} %`;

function lawOf({ check, members, figures }: Pick<CrossCheck, 'check' | 'members' | 'figures'>): string {
  const names = members.map(named);
  const last = names.at(-1) ?? '';
  switch (check) {
    case 'alike-speeds':
      return `${names.join(', ')} are the same but in curves`;
    case 'constant-ratio':
      return `${last} is always ${(figures['ratio'] ?? 0).toPrecision(5)} times ${names[0]} (raw values)`;
    case 'power-balance':
      return `${last} goes with the product of ${names[0]} and ${names[1]}, as a current with torque and speed`;
    case 'charge-sum':
      return `${last} goes with the sum over time of ${names[0]}, as a level with a current`;
    case 'cell-sum':
      return `${last} is what ${members.length - 1} alike values (${members[0]?.place.id} and on) add up to`;
  }
}

export function whyOf(law: Omit<CrossCheck, 'q' | 'why'>, q: number): string {
  return `${lawOf(law)}: ${percent(law.residual)} left open over ${law.n} instants, q ${q.toPrecision(2)}`;
}
