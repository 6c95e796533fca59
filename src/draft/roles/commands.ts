/**
 * Cause before consequence: of all that leads, what commands. For each follower it is the leader that leaves least open (the pedal leads the
 * torque too, but the torque's command is nearer). What a plant has become (a sum over time of something else) commands nothing, nor does what a
 * commanded part shows of its own answer. What only heads a chain to a command is what a driver sets.
 */
import { togetherOf, type Gathering } from './gathers.ts';
import type { Prepared } from './prepared.ts';
import type { Told } from './told.ts';

/** The nearest leader must leave less open than this factor times another's to stand before it. */
const CLEARLY_NEARER = 2;
/** Rank correlation with what commands its sender, above which a field is part of the answer. */
const ANSWERS_LEVELS = 0.6;

/** What is a sum over time itself goes with much that leads it: only what explains nearly all of it can be its command. */
const PLANT_R2 = 0.98;

export interface Behind {
  readonly why: 'gathers' | 'answers';
  readonly of: Prepared;
  readonly rho: number;
}

export interface Commands {
  readonly commands: readonly Told[];
  /** Leaders that are consequences themselves. */
  readonly behind: ReadonlyMap<Prepared, Behind>;
  /** Leaders that only head a chain. */
  readonly heads: ReadonlySet<Prepared>;
}

/** Its sender obeys another: whatever of that sender goes with the command is an answer to it. */
function answerOf(told: Told, stronger: readonly Told[]): Behind | null {
  const { sender } = told.leader;
  if (sender === null) return null;
  for (const { leader, follower, best } of stronger) {
    if (follower.sender !== sender || best.unexplained * CLEARLY_NEARER > told.best.unexplained) continue;
    const rho = togetherOf(leader.levels, told.leader.levels);
    if (Math.abs(rho) >= ANSWERS_LEVELS) return { why: 'answers', of: leader, rho };
  }
  return null;
}

/** What else is known of fields, asked only where it matters. */
export interface Known {
  readonly gathers: (field: Prepared) => Gathering | null;
  readonly touched: (field: Prepared) => boolean;
  /** Whether anything goes before it, at least roughly the same way. */
  readonly isLed: (field: Prepared) => boolean;
}

/** What glides and follows nothing is moved by hand; what goes by steps is decided. */
const isHand = (field: Prepared, { isLed }: Known): boolean => !field.goesBySteps && !isLed(field);

/**
 * Whether the leader only says again what leads the follower already, as a part does that repeats its command. What says again a lever that
 * a person moves is the command itself, and so is what comes from another sender than the answer.
 */
function isEchoed({ leader, follower }: Told, told: readonly Told[], known: Known): boolean {
  const [mine, its] = [leader.likelySender, follower.likelySender];
  if (mine !== null && its !== null && mine !== its) return false;
  const sources = told.filter((one) => one.way === 'copy' && one.follower === leader).map((one) => one.leader);
  return sources.some(
    (source) =>
      !known.touched(source) &&
      !isHand(source, known) &&
      told.some((one) => one.leader === source && one.follower === follower),
  );
}

/** Rank or value correlation of what shows the same. */
const SAME = 0.98;
/** Two that lead by lags less than this share of a refresh apart lead alike. */
const APART = 0.3;

const areSame = (a: Prepared, b: Prepared): boolean =>
  Math.abs(togetherOf(a.values, b.values)) >= SAME || Math.abs(togetherOf(a.levels, b.levels)) >= SAME;

/** Another leader shows the same earlier, and is no hand: this one says it again. */
function isSaidAgain({ leader, follower, best, tellingUs }: Told, accepted: readonly Told[], known: Known): boolean {
  const [mine, its] = [leader.likelySender, follower.likelySender];
  if (mine !== null && its !== null && mine !== its) return false;
  return accepted.some(
    (other) =>
      other.follower === follower &&
      other.best.lagUs > best.lagUs + APART * tellingUs &&
      areSame(other.leader, leader) &&
      !isHand(other.leader, known),
  );
}

/** told: every pair with a lag; only memories tell a command, but any nearer leader rules out a farther one. */
export function commandsOf(told: readonly Told[], known: Known): Commands {
  const { gathers } = known;
  const behind = new Map<Prepared, Behind>();
  const accepted: Told[] = [];
  const nearest = new Map<Prepared, Told>();
  for (const one of [...told].sort((a, b) => a.best.unexplained - b.best.unexplained)) {
    if (one.way === 'copy') continue;
    const { leader, follower } = one;
    if (!nearest.has(follower)) nearest.set(follower, one);
    const isNear = one.best.unexplained <= CLEARLY_NEARER * (nearest.get(follower) as Told).best.unexplained;
    if (one.way !== 'answer' || !isNear || behind.has(leader) || isEchoed(one, told, known)) continue;
    if (1 - one.best.unexplained < PLANT_R2 && gathers(follower)) continue;
    const gathering = gathers(leader);
    const consequence = gathering ? { why: 'gathers' as const, ...gathering } : answerOf(one, accepted);
    if (consequence) behind.set(leader, consequence);
    else accepted.push(one);
  }
  const said = accepted.filter((one) => !isSaidAgain(one, accepted, known));
  const leaders = new Set(said.map(({ leader }) => leader));
  const leading = new Set(told.filter(({ follower }) => leaders.has(follower)).map(({ leader }) => leader));
  const isHead = ({ leader }: Told): boolean => leading.has(leader);
  return {
    commands: said.filter((one) => !isHead(one)),
    behind,
    heads: new Set(said.filter(isHead).map(({ leader }) => leader)),
  };
}
