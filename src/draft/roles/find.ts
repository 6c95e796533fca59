/**
 * The roles of a capture's fields: who follows whom over the bus, and what comes of it. Cause before consequence; a command to a part is never in
 * a frame that the part itself sends, so only fields of different senders are held against each other.
 */
import { CLAIM_Q } from '../../actions/claims.ts';
import type { LinkReport } from '../../actions/types.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { Control } from '../../kit/control.ts';
import { createRandom } from '../../kit/random.ts';
import { fieldKey, type ProposedFrame } from '../../map/proposed-fields.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { commandsOf } from './commands.ts';
import { Courses } from './courses.ts';
import { decideRole, followOf } from './decide.ts';
import { enablesOf } from './enables.ts';
import { faultsOf } from './faults.ts';
import { judgeFollows } from './follows.ts';
import { Gatherings, type Gathering } from './gathers.ts';
import type { Judged } from './judged.ts';
import { boundsOf } from './limits.ts';
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
}

/** What is asked of the fields, made ready once for roles and laws. */
export interface Asked {
  readonly fields: readonly Prepared[];
  readonly gatherings: Gatherings;
}

type Key = Pick<SurveyFrame, 'bus' | 'id' | 'extended'>;

function surveyed({ frames }: Pick<Survey, 'frames'>): (key: Key) => SurveyFrame | undefined {
  const keyOf = ({ bus, id, extended }: Key): string => `${bus} ${id} ${extended}`;
  const byKey = new Map(frames.filter(({ direction }) => direction === 'received').map((one) => [keyOf(one), one]));
  return (key) => byKey.get(keyOf(key));
}

/** Less sure than this, a group does not rule out that one of its members commands another. */
const SENDER_SURE = 0.5;

const senderOf = (frame: SurveyFrame | undefined): Sender => {
  const likely = frame?.group ?? null;
  return { sure: (frame?.groupConfidence ?? 0) >= SENDER_SURE ? likely : null, likely };
};

/** One action in twenty may be tied to a field by chance: too many to say of a field that a person moves it. */
const TOUCHED_Q = CLAIM_Q / 5;

/** What a person touched: the first sure link of an action, if it is this field. */
function touchedBy(links: LinkReport | null | undefined): (field: Prepared) => string | null {
  const first = new Map<string, string>();
  for (const { action, links: own } of links?.actions ?? []) {
    const [strongest] = own;
    if (strongest && strongest.q <= TOUCHED_Q && !first.has(fieldKey(strongest)))
      first.set(fieldKey(strongest), action);
  }
  return ({ place }) => first.get(fieldKey(place)) ?? null;
}

export async function prepareForRoles({ table, findings, survey }: RolesInput, control: Control): Promise<Asked> {
  const frameOf = surveyed(survey);
  const fields = await prepareFields(table, findings, (key) => senderOf(frameOf(key)), control);
  const numbers = fields.filter(({ isNumber }) => isNumber);
  return { fields, gatherings: new Gatherings(numbers, table.endUs) };
}

/** Deterministic for one seed. */
export async function findRoles(
  { table, survey, links, seed }: Omit<RolesInput, 'findings'>,
  { fields, gatherings }: Asked,
  control: Control,
): Promise<RoleReport> {
  const random = createRandom(seed).fork('roles');
  const frameOf = surveyed(survey);
  const courses = new Courses(table.endUs);
  const { judged, pairs, isLed, ledBy } = await judgeFollows(fields, courses, random, control);
  const jitterUs = ({ candidate }: Prepared): number => 1000 * (frameOf(candidate.frame)?.timing.jitterMs ?? 0);
  const told = toldOf(judged, pairs, ({ leader, follower }: Judged) => Math.max(jitterUs(leader), jitterUs(follower)));
  const gathers = (field: Prepared): Gathering | null => gatherings.of(field);
  const touched = touchedBy(links);
  const commands = commandsOf(told, { gathers, isLed, touched: (field) => touched(field) !== null });
  const answers = [...commands.commands, ...commands.open].map((one) => ({
    ...one,
    field: one.follower,
    led: one.follower,
  }));
  // A command is held back as well, of what comes before it.
  const asking = [...new Set(commands.commands.map(({ leader }) => leader))].flatMap((field) => {
    const found = field.goesBySteps ? null : ledBy(field);
    return found ? [{ ...found, field, dither: 0 }] : [];
  });
  const numbers = fields.filter(({ isNumber }) => isNumber);
  const bounds = boundsOf(numbers, [...answers, ...asking], courses);
  const enables = enablesOf(fields, commands.commands, table.endUs);
  const faults = faultsOf(fields, commands.commands, table, (key) => senderOf(frameOf(key)));
  const context = { commands, told, gathers, touched, isLed, bounds, enables, faults };
  return { roles: fields.map((field) => decideRole(field, context)), follows: told.map(followOf), pairs };
}
