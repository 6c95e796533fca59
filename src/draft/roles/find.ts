/**
 * The roles of a capture's fields: who follows whom over the bus, and what comes of it. Cause before consequence; a command to a part is never in
 * a frame that the part itself sends, so only fields of different senders are held against each other.
 */
import type { LinkReport } from '../../actions/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import { createRandom } from '../../kit/random.ts';
import type { ProposedFrame } from '../../map/proposed-fields.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { commandsOf } from './commands.ts';
import { decideRole, followOf } from './decide.ts';
import { judgeFollows, type Judged } from './follows.ts';
import { Gatherings, type Gathering } from './gathers.ts';
import { prepareFields, type Prepared, type Sender } from './prepared.ts';
import { toldOf } from './told.ts';
import type { RoleReport } from './types.ts';

export interface RolesInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  /** With senders as the person has them (`settleSenders`). */
  readonly survey: Pick<Survey, 'frames'>;
  readonly links?: LinkReport | null;
  readonly seed: number;
  /** Made ready before (`prepareForRoles`). */
  readonly fields?: readonly Prepared[];
}

type Key = Pick<SurveyFrame, 'bus' | 'id' | 'extended'>;

function surveyed({ frames }: Pick<Survey, 'frames'>): (key: Key) => SurveyFrame | undefined {
  const keyOf = ({ bus, id, extended }: Key): string => `${bus} ${id} ${extended}`;
  const byKey = new Map(frames.filter(({ direction }) => direction === 'received').map((one) => [keyOf(one), one]));
  return (key) => byKey.get(keyOf(key));
}

/** Less sure than this, a group does not rule out that one of its members commands another. */
const SENDER_SURE = 0.9;

const senderOf = (frame: SurveyFrame | undefined): Sender => {
  const likely = frame?.group ?? null;
  return { sure: (frame?.groupConfidence ?? 0) >= SENDER_SURE ? likely : null, likely };
};

/** What a person touched: the first sure link of an action, if it is this field. */
function touchedBy(links: LinkReport | null | undefined): (field: Prepared) => string | null {
  const keyOf = ({ bus, id, extended, field }: Key & { readonly field: string }): string =>
    `${bus} ${id} ${extended} ${field}`;
  const first = new Map<string, string>();
  for (const { action, links: own } of links?.actions ?? []) {
    const [strongest] = own;
    if (strongest && strongest.q <= 0.05 && !first.has(keyOf(strongest))) first.set(keyOf(strongest), action);
  }
  return ({ place }) => first.get(keyOf(place)) ?? null;
}

/** The fields that roles and laws are asked of. */
export function prepareForRoles({ table, findings, survey }: RolesInput, control: Control): Promise<Prepared[]> {
  const frameOf = surveyed(survey);
  return prepareFields(table, findings, (key) => senderOf(frameOf(key)), control);
}

/** Deterministic for one seed. */
export async function findRoles(input: RolesInput, control: Control): Promise<RoleReport> {
  const { table, survey, links, seed } = input;
  const random = createRandom(seed).fork('roles');
  const frameOf = surveyed(survey);
  const fields = input.fields ?? (await prepareForRoles(input, part(control, 0, 0.4)));
  const { judged, pairs, isLed } = await judgeFollows(fields, table.endUs, random, part(control, 0.4, 1));
  const jitterUs = ({ candidate }: Prepared): number => 1000 * (frameOf(candidate.frame)?.timing.jitterMs ?? 0);
  const told = toldOf(judged, pairs, ({ leader, follower }: Judged) => Math.max(jitterUs(leader), jitterUs(follower)));
  const numbers = fields.filter(({ isNumber }) => isNumber);
  const gatherings = new Gatherings(numbers, table.endUs);
  const known = new Map<Prepared, Gathering | null>();
  const gathers = (field: Prepared): Gathering | null => {
    const gathering = known.has(field) ? (known.get(field) as Gathering | null) : gatherings.of(field);
    known.set(field, gathering);
    return gathering;
  };
  const touched = touchedBy(links);
  const commands = commandsOf(told, { gathers, isLed, touched: (field) => touched(field) !== null });
  const context = { commands, told, gathers, touched };
  return { roles: fields.map((field) => decideRole(field, context)), follows: told.map(followOf), pairs };
}
