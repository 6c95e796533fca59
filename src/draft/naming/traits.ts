/** What can be said of a field without knowing what it is: how it moves, what part it plays, which laws it is a member of, what it answers. */
import { CLAIM_Q } from '../../actions/claims.ts';
import type { LinkReport } from '../../actions/types.ts';
import { fieldKey } from '../../map/proposed-fields.ts';
import type { CrossCheckReport } from '../cross-checks/types.ts';
import type { Prepared } from '../roles/prepared.ts';
import type { RoleFinding, RoleReport } from '../roles/types.ts';

export interface Traits {
  readonly kind: 'number' | 'states' | 'flag';
  readonly role: RoleFinding['role'];
  /** Kinds of reasons that the role was told by. */
  readonly told: ReadonlySet<string>;
  /** "power-balance torque": law and part. */
  readonly laws: ReadonlySet<string>;
  /** Actions that it answers first, and that it answers at all. */
  readonly first: readonly string[];
  readonly answers: readonly string[];
  /** The values of an action's marks go with its values. */
  readonly stated: boolean;
  readonly changes: number;
  readonly distinct: number;
  /** Share of changes by a single step of its own. */
  readonly singleSteps: number;
  /** Share of changes in the commoner direction. */
  readonly oneWay: number;
  /** Share of time at its lowest and at its commonest value. */
  readonly atLeast: number;
  /** Least value over greatest, of sizes: near 1 for what never comes near zero. */
  readonly leastShare: number;
  readonly goesBySteps: boolean;
}

function movesOf({ field }: Prepared) {
  const { series, changes, quantum, least } = field;
  let [single, up, atLeast] = [0, 0, 0];
  for (const row of changes) {
    const step = (series.value[row] as number) - (series.value[row - 1] as number);
    if (Math.abs(step) <= 1.01 * Math.max(1, quantum)) single++;
    if (step > 0) up++;
  }
  for (const value of series.value) if (value === least) atLeast++;
  const n = Math.max(1, changes.length);
  return {
    singleSteps: single / n,
    oneWay: Math.max(up, n - up) / n,
    atLeast: atLeast / Math.max(1, series.value.length),
  };
}

export interface TraitsInput {
  readonly fields: readonly Prepared[];
  readonly roles: RoleReport;
  readonly checks: CrossCheckReport;
  readonly links?: LinkReport | null;
}

export function traitsOf({ fields, roles, checks, links }: TraitsInput): Map<Prepared, Traits> {
  const role = new Map(roles.roles.map((one) => [fieldKey(one), one]));
  const laws = new Map<string, Set<string>>();
  for (const { check, members } of checks.checks)
    for (const { part, place } of members)
      laws.set(fieldKey(place), (laws.get(fieldKey(place)) ?? new Set()).add(`${check} ${part}`));
  const sure = (links?.actions ?? []).map(({ action, links: all }) => ({
    action,
    own: all
      .filter(({ q }) => q <= CLAIM_Q)
      .map((link) => ({ key: fieldKey(link), isStated: (link.states?.length ?? 0) > 1 })),
  }));
  return new Map(
    fields.map((field): [Prepared, Traits] => {
      const key = fieldKey(field.place);
      const found = role.get(key);
      const mine = sure.flatMap(({ action, own }) => (own.some((link) => link.key === key) ? [action] : []));
      const first = sure.flatMap(({ action, own }) => (own[0]?.key === key ? [action] : []));
      const { least, greatest, changes, distinct } = field.field;
      return [
        field,
        {
          kind: field.candidate.field.kind as Traits['kind'],
          role: found?.role ?? 'unknown',
          told: new Set((found?.reasons ?? []).map(({ kind }) => kind)),
          laws: laws.get(key) ?? new Set(),
          first,
          answers: mine,
          stated: sure.some(({ own }) => own.some((link) => link.key === key && link.isStated)),
          changes: changes.length,
          distinct,
          leastShare: greatest > 0 ? Math.max(0, least) / greatest : 0,
          goesBySteps: field.goesBySteps,
          ...movesOf(field),
        },
      ];
    }),
  );
}
