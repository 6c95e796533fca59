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

/** Rank or value correlation of what shows the same. */
const SAME = 0.98;
const areSame = (a: Prepared, b: Prepared): boolean =>
  Math.abs(togetherOf(a.values, b.values)) >= SAME || Math.abs(togetherOf(a.levels, b.levels)) >= SAME;

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
  /** What glides, leads an answer and has nothing before it: a command, or what a person moves. */
  readonly open: readonly Told[];
}

/** Its sender obeys another: whatever of that sender goes with the command is an answer to it. */
function answerOf(told: Told, stronger: readonly Told[]): Behind | null {
  const { sender } = told.leader;
  if (sender === null) return null;
  for (const { leader, follower, openInAll } of stronger) {
    if (follower.sender !== sender || openInAll * CLEARLY_NEARER > told.openInAll) continue;
    const rho = togetherOf(leader.levels, told.leader.levels);
    if (Math.abs(rho) >= ANSWERS_LEVELS) return { why: 'answers', of: leader, rho };
  }
  return null;
}

/** What else is known of fields, asked only where it matters. */
export interface Known {
  readonly gathers: (field: Prepared) => Gathering | null;
  /** Whether it surely answers an action first. */
  readonly touched: (field: Prepared) => boolean;
  /** Whether anything goes before it, at least roughly the same way. */
  readonly isLed: (field: Prepared) => boolean;
}

/** What glides and follows nothing may be moved by hand; what goes by steps is decided, unless it is just what a person touches. */
const isHand = (field: Prepared, { isLed, touched }: Known): boolean =>
  (!field.goesBySteps || touched(field)) && !isLed(field);

/** Such a one goes before the leader, by what both do to the follower: earlier, and much more loosely. */
const isNearer = ({ leader, follower, best, openInAll }: Told, told: readonly Told[]): boolean =>
  told.some(
    (other) =>
      other.follower === follower &&
      other.leader !== leader &&
      other.best.lagUs > best.lagUs &&
      other.openInAll >= CLEARLY_NEARER * openInAll &&
      !areSame(other.leader, leader),
  );

const isFirst = (one: Told, told: readonly Told[], known: Known): boolean =>
  isHand(one.leader, known) && !isNearer(one, told);

/**
 * Whether the leader only says again what leads the follower already, as a part does that repeats its command. What says again a lever that
 * a person moves is the command itself.
 */
function isEchoed({ leader, follower }: Told, told: readonly Told[], known: Known): boolean {
  const sources = told.filter((one) => one.way === 'copy' && one.follower === leader).map((one) => one.leader);
  return told.some((one) => one.follower === follower && sources.includes(one.leader) && !isFirst(one, told, known));
}

/** A part that repeats what it was told obeys it. */
const isRepeated = ({ leader, follower }: Told, told: readonly Told[]): boolean =>
  told.some(
    (one) =>
      one.way === 'copy' &&
      one.leader === leader &&
      one.follower.likelySender !== null &&
      one.follower.likelySender === follower.likelySender,
  );

/** Two that lead by lags less than this share of a refresh apart lead alike. */
const APART = 0.3;

/** Another leader shows the same earlier, and is no hand: this one says it again. */
function isSaidAgain(
  { leader, follower, best, tellingUs }: Told,
  accepted: readonly Told[],
  told: readonly Told[],
  known: Known,
): boolean {
  return accepted.some(
    (other) =>
      other.follower === follower &&
      other.best.lagUs > best.lagUs + APART * tellingUs &&
      areSame(other.leader, leader) &&
      !isFirst(other, told, known),
  );
}

/** What says a lever again and goes before the same answer is its command, also where its slower frames do not show the memory by themselves. */
function passedOn(open: readonly Told[], told: readonly Told[]): Told[] {
  return open.flatMap(({ leader, follower, best, openInAll }) => {
    const copies = told.filter((one) => one.way === 'copy' && one.leader === leader).map((one) => one.follower);
    return told
      .filter((one) => one.way === 'untold' && one.follower === follower && copies.includes(one.leader))
      .filter((one) => one.best.lagUs < best.lagUs && one.openInAll <= CLEARLY_NEARER * openInAll)
      .sort((a, b) => b.best.lagUs - a.best.lagUs)
      .slice(0, 1);
  });
}

/** told: every pair with a lag; only memories tell a command, but any nearer leader rules out a farther one. */
export function commandsOf(told: readonly Told[], known: Known): Commands {
  const { gathers } = known;
  const behind = new Map<Prepared, Behind>();
  const [accepted, open]: [Told[], Told[]] = [[], []];
  const nearest = new Map<Prepared, Told>();
  for (const one of [...told].sort((a, b) => a.openInAll - b.openInAll)) {
    const { leader, follower } = one;
    if (!nearest.has(follower)) nearest.set(follower, one);
    const isNear = one.openInAll <= CLEARLY_NEARER * (nearest.get(follower) as Told).openInAll;
    if (one.way !== 'answer' || !isNear || behind.has(leader) || isEchoed(one, told, known)) continue;
    if (1 - one.best.unexplained < PLANT_R2 && gathers(follower)) continue;
    const gathering = gathers(leader);
    const consequence = gathering ? { why: 'gathers' as const, ...gathering } : answerOf(one, [...accepted, ...open]);
    if (consequence) behind.set(leader, consequence);
    else (isFirst(one, told, known) && !isRepeated(one, told) ? open : accepted).push(one);
  }
  accepted.push(...passedOn(open, told));
  const said = accepted.filter((one) => !isSaidAgain(one, accepted, told, known));
  const leaders = new Set(said.map(({ leader }) => leader));
  const leading = new Set(told.filter(({ follower }) => leaders.has(follower)).map(({ leader }) => leader));
  const isHead = ({ leader }: Told): boolean => leading.has(leader);
  return {
    commands: said.filter((one) => !isHead(one)),
    behind,
    heads: new Set([...said, ...open].filter(isHead).map(({ leader }) => leader)),
    open: open.filter((one) => !isHead(one)),
  };
}
