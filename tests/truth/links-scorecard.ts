/** What links say of one vehicle against what is true of it, counted. */
import { linkFields } from '../../src/actions/link.ts';
import type { ActionLinks } from '../../src/actions/types.ts';
import { IDLE, idleMarks, type FoundLink, type LinksCase } from './links-cases.ts';

export interface LinksScore {
  readonly name: string;
  /** Fields that moved. */
  readonly fields: number;
  /** Actions with enough marks of which some field tells directly; `paired` are those always done with another one. */
  readonly alone: Ranks;
  readonly paired: Ranks;
  /** Actions that nothing answers, and sure links claimed for them, each direction counted. */
  readonly idle: { readonly actions: number; readonly claims: number };
  readonly clock: { readonly found: boolean; readonly errorS: number; readonly driftPpm: number };
  /** For a person: what missed. */
  readonly wrong: readonly string[];
}

interface Ranks {
  readonly actions: number;
  readonly first: number;
  readonly inThree: number;
}

export const MARKS_LEAST = 5;
const IDLE_ACTIONS = 6;
const SURE_Q = 0.05;

const fieldOf = ({ bus, id, extended, field, when }: FoundLink): string =>
  JSON.stringify([bus, id, extended, field, when]);

/** Place of the first field that tells of the action directly among all sure ones, each field once; 0 where none does. */
export function rankOf({ links }: ActionLinks, isDirect: (link: FoundLink) => boolean): number {
  const sure = links.filter(({ q }) => q <= SURE_Q);
  const fields = sure.filter((link, at) => sure.findIndex((other) => fieldOf(other) === fieldOf(link)) === at);
  return 1 + fields.findIndex(isDirect);
}

const ranksOf = (ranks: readonly number[]): Ranks => ({
  actions: ranks.length,
  first: ranks.filter((rank) => rank === 1).length,
  inThree: ranks.filter((rank) => rank >= 1 && rank <= 3).length,
});

export async function scoreLinks(one: LinksCase): Promise<LinksScore> {
  const marks = { ...one.marks, marks: [...one.marks.marks, ...idleMarks(one, IDLE_ACTIONS)] };
  const { table, findings } = one;
  const { actions, clock } = await linkFields({ table, findings, marks, offset: 'auto', seed: 1 }, {});
  const isIdle = ({ action }: ActionLinks): boolean => action.startsWith(IDLE) || one.sortOf(action) === 'nothing';
  const idle = actions.filter(isIdle);
  const claimed = idle.flatMap(({ action, links }) =>
    links.filter(({ q }) => q <= SURE_Q).map((link) => ({ action, link })),
  );
  const ranked = actions
    .filter((each) => !isIdle(each) && each.marks >= MARKS_LEAST)
    .map((each) => ({
      each,
      sort: one.sortOf(each.action),
      rank: rankOf(each, (link) => one.isDirect(each.action, link)),
    }));
  const errorS = clock.offsetS - one.trueOffsetS;
  const missed = ranked.filter(({ sort, rank }) => sort !== null && rank !== 1);
  return {
    name: one.name,
    fields: Math.min(...actions.map(({ tested }) => tested)),
    alone: ranksOf(ranked.filter(({ sort }) => sort === 'alone').map(({ rank }) => rank)),
    paired: ranksOf(ranked.filter(({ sort }) => sort === 'paired').map(({ rank }) => rank)),
    idle: { actions: idle.length, claims: claimed.length },
    clock: { found: clock.from === 'found', errorS, driftPpm: one.driftPpm },
    wrong: [
      ...missed.map(({ each, sort, rank }) => {
        const shown = each.links.slice(0, 4).map(({ id, field, q, lagS, direction, surprise = 0 }) => {
          return `${id} ${field} ${direction} ${surprise.toFixed(0)} nats q ${q.toPrecision(2)} ${lagS.toFixed(2)} s`;
        });
        return `${each.action} (${sort}, ${each.marks} marks): direct one at ${rank || 'none'}; ${shown.join(', ')}`;
      }),
      ...claimed.map(
        ({ action, link: { bus, id, field, q, n, direction } }) =>
          `claimed for ${action}: ${bus} ${id} ${field} ${direction} n ${n} q ${q.toPrecision(2)}`,
      ),
      ...(Math.abs(errorS) > 0.1
        ? [
            `clock off by ${errorS.toFixed(3)} s of ${one.trueOffsetS.toFixed(2)} (drift ${one.driftPpm.toFixed(0)} ppm): ${clock.words}`,
          ]
        : []),
    ],
  };
}
