/**
 * Which pairs are claimed to show the same quantity, and in which groups they are told: not a chain of pairs, but a source and those
 * that show what it shows. A pair is claimed where luck is ruled out over all pairs and where what the tie leaves is what a copy leaves; two
 * quantities that drive each other go together as well, but each keeps noise of its own, or what is left of them moves as they do, drifts over the
 * capture, or goes with how the value bends.
 */
import { clusteredQValues } from '../../kit/statistics/false-discovery.ts';
import { placeOfCandidate } from '../../map/proposed-fields.ts';
import { isRoundRatio } from './copied.ts';
import type { NumberTie } from './numbers.ts';
import type { ComparedField } from './series.ts';
import type { TurnTie } from './turns.ts';
import type { SameValueGroup, SameValueMember } from './types.ts';

export interface Judged {
  readonly base: ComparedField;
  readonly other: ComparedField;
  readonly p: number;
  /** `steps`: rank correlation of changes of pace over the stretches that tell most. */
  readonly number: (NumberTie & { readonly steps: number }) | null;
  readonly turns: TurnTie | null;
}

export const CLAIM_Q = 0.01;
/** More points than these off the line: now and then the two are not the same. Where all the rest is rounding, only those that no reading between frames explains. */
const APART_MOST = 0.02;
/** Variance left, over that of rounding both: a little more for values that are held between updates. */
const ROUNDING_MOST = 4;
const ROUNDED_UNEXPLAINED = 0.02;
/** Hardly anything is left, and that does not drift. */
const CLOSE = 0.005;
const CLOSE_FORGETS = 0.25;
/** Noise is left: then the pace too must go together nearly always. */
const NOISY = 0.03;
const NOISY_FORGETS = 0.5;
const NOISY_STEPS = 0.8;
const NOISY_PAIRS = 100;

/** More than rounding is left, and so much of it drifts over the capture: another quantity plays a part. */
const DRIFTS_BEYOND = 1;
const DRIFTS = 0.1;
/** So much of what is left goes with how the value bends: it went through a filter on its way. */
const FILTERED = 0.2;

/** More than rounding is left, and more of it than this: noise of its own and a small share of another quantity look alike, so nothing is claimed. */
const UNTOLD_BEYOND = 1.5;
const UNTOLD = 0.01;

const isAnother = ({ rounding, drifts, filtered, unexplained }: NumberTie): boolean =>
  (rounding > UNTOLD_BEYOND && unexplained > UNTOLD) ||
  (rounding > DRIFTS_BEYOND && drifts > DRIFTS) ||
  (rounding > ROUNDING_MOST && filtered > FILTERED);

/** While the value rests, a copy leaves the roundings: so much more for what moves a little. */
const RESTING_MOST = 2;
/** What never rests may leave so much, where its way between frames allows it and rounding alone leaves as little as of 40 levels. */
const MOVING_MOST = 4;
const ALLOWED_MOST = 1.25;
const MANY_LEVELS = 0.0005;
/** Rounding alone leaves so much of 25 levels; with fewer, nothing beside it may be left, and the borders must be crossed where they should be. */
const LEVELS_TOLD = 0.0015;
const ROUNDING_ALONE = 1;
const CROSSING_MOST = 1.5;

const isResting = ({ resting, restingAllowed, unexplained }: NumberTie): boolean =>
  resting <= RESTING_MOST || (resting <= MOVING_MOST && restingAllowed <= ALLOWED_MOST && unexplained <= MANY_LEVELS);

/** Whether only a copy explains it: a round ratio about a shared zero, or nothing but the roundings while it rests, over many levels or border by border. */
export function isCopy(number: NumberTie): boolean {
  if (isRoundRatio(number, number.coarserStep)) return true;
  if (!isResting(number) || number.drifts > DRIFTS) return false;
  if (number.unexplained <= LEVELS_TOLD) return true;
  return number.resting <= ROUNDING_ALONE && number.crossing <= CROSSING_MOST;
}

/** Of ties that only a copy explains, whether what they leave is rounding and noise; luck is judged apart. */
export function isSame({ number, turns }: Judged): boolean {
  if (!number) return turns !== null;
  const { apart, jumps, unexplained, rounding, forgets, steps, n } = number;
  if (isAnother(number)) return false;
  const isRounded = rounding <= ROUNDING_MOST;
  if ((isRounded ? jumps : apart) > APART_MOST) return false;
  if (isRounded && unexplained <= ROUNDED_UNEXPLAINED) return true;
  if (unexplained <= CLOSE && forgets >= CLOSE_FORGETS) return true;
  return n >= NOISY_PAIRS && unexplained <= NOISY && forgets >= NOISY_FORGETS && Math.abs(steps) >= NOISY_STEPS;
}

type Line = NonNullable<SameValueMember['line']>;
type Tie = Omit<SameValueMember, 'place' | 'follows'>;

interface Claimed {
  readonly from: ComparedField;
  readonly to: ComparedField;
  readonly tie: Tie;
}

function claimOf({ base, other, number, turns, p }: Judged, q: number): Claimed {
  const tie = number ?? (turns as TurnTie);
  const shared = { lagMs: tie.lagUs / 1000, lagMsSe: tie.lagSeUs / 1000, n: tie.n, p, q };
  if (!number) return { from: base, to: other, tie: { ...shared, line: null, values: (turns as TurnTie).values } };
  const { scale, scaleSe, offset, offsetSe, unexplained } = number;
  return {
    from: base,
    to: other,
    tie: { ...shared, line: { scale, scaleSe, offset, offsetSe, unexplained }, values: null },
  };
}

function backwards({ line, values, ...rest }: Tie): Tie {
  return {
    ...rest,
    lagMs: -rest.lagMs,
    values: values?.map(([x, y]) => [y, x] as const).sort((a, b) => a[0] - b[0]) ?? null,
    line: line && turned(line),
  };
}

function turned({ scale, scaleSe, offset, offsetSe, unexplained }: Line): Line {
  const back = 1 / scale;
  const backSe = scaleSe * back * back;
  return {
    scale: back,
    scaleSe: backSe,
    offset: -offset * back,
    offsetSe: Math.hypot(offsetSe * back, offset * backSe),
    unexplained,
  };
}

/** First one tie, then the other, where the two ends were not compared directly. */
function after(first: Tie, second: Tie): Tie {
  const [a, b] = [first.line, second.line];
  const line = a && b ? chained(a, b) : null;
  const next = new Map(second.values ?? []);
  const values = first.values?.flatMap(([x, y]) => {
    const z = next.get(y);
    return z === undefined ? [] : [[x, z] as const];
  });
  return {
    line,
    values: line ? null : (values ?? null),
    lagMs: first.lagMs + second.lagMs,
    lagMsSe: Math.hypot(first.lagMsSe, second.lagMsSe),
    n: Math.min(first.n, second.n),
    p: Math.max(first.p, second.p),
    q: Math.max(first.q, second.q),
  };
}

const chained = (a: Line, b: Line): Line => ({
  scale: a.scale * b.scale,
  scaleSe: Math.hypot(a.scaleSe * b.scale, b.scaleSe * a.scale),
  offset: a.offset * b.scale + b.offset,
  offsetSe: Math.hypot(a.offsetSe * b.scale, b.scaleSe * a.offset, b.offsetSe),
  unexplained: Math.max(a.unexplained, b.unexplained),
});

type Partners = Map<ComparedField, Map<ComparedField, Tie>>;

function partnersOf(claims: readonly Claimed[]): Partners {
  const partners: Partners = new Map();
  const add = (from: ComparedField, to: ComparedField, tie: Tie): void => {
    partners.set(from, (partners.get(from) ?? new Map<ComparedField, Tie>()).set(to, tie));
  };
  for (const { from, to, tie } of claims) {
    add(from, to, tie);
    add(to, from, backwards(tie));
  }
  return partners;
}

const FOLLOWS_ERRORS = 3;
const leads = ({ lagMs, lagMsSe }: Tie): boolean => lagMs > FOLLOWS_ERRORS * lagMsSe;

/** Of the hub and those tied to it, the one that shows the value first; a lag within its error tells nothing. */
function firstOf(hub: ComparedField, ties: ReadonlyMap<ComparedField, Tie>): ComparedField {
  let [first, earliest] = [hub, 0];
  for (const [field, tie] of ties)
    if (leads({ ...tie, lagMs: -tie.lagMs }) && tie.lagMs < earliest) [first, earliest] = [field, tie.lagMs];
  return first;
}

function groupAround(hub: ComparedField, partners: Partners, taken: ReadonlySet<ComparedField>): ComparedGroup {
  const ties = new Map([...(partners.get(hub) ?? [])].filter(([field]) => !taken.has(field)));
  const source = firstOf(hub, ties);
  const toHub = ties.get(source);
  const members = [hub, ...ties.keys()].filter((field) => field !== source);
  const tieTo = (member: ComparedField): Tie => {
    const direct = partners.get(source)?.get(member);
    if (direct || !toHub) return direct as Tie;
    return member === hub ? backwards(toHub) : after(backwards(toHub), ties.get(member) as Tie);
  };
  return { source, members: members.map((field) => [field, tieTo(field)] as const) };
}

interface ComparedGroup {
  readonly source: ComparedField;
  readonly members: readonly (readonly [ComparedField, Tie])[];
}

const placeOf = ({ candidate }: ComparedField) => placeOfCandidate(candidate);

/** pairs: how many there are, those that were not worth a closer look included. */
export function groupsOf(judged: readonly Judged[], pairs: number): SameValueGroup[] {
  const q = clusteredQValues(
    judged.map(({ p }) => p),
    judged.map((_, k) => k),
    pairs,
  );
  const claims = judged.flatMap((one, k) =>
    (q[k] as number) <= CLAIM_Q && isSame(one) ? [claimOf(one, q[k] as number)] : [],
  );
  const partners = partnersOf(claims);
  const taken = new Set<ComparedField>();
  const groups: SameValueGroup[] = [];
  const left = (field: ComparedField): number =>
    [...(partners.get(field)?.keys() ?? [])].filter((other) => !taken.has(other)).length;
  for (;;) {
    const free = [...partners.keys()].filter((field) => !taken.has(field) && left(field) > 0);
    const hub = free.reduce<ComparedField | null>((best, one) => (best && left(best) >= left(one) ? best : one), null);
    if (!hub) return groups;
    const { source, members } = groupAround(hub, partners, taken);
    for (const field of [source, ...members.map(([each]) => each)]) taken.add(field);
    groups.push({
      source: placeOf(source),
      members: members
        .toSorted(([, a], [, b]) => a.lagMs - b.lagMs)
        .map(([field, tie]) => ({ ...tie, place: placeOf(field), follows: leads(tie) })),
    });
  }
}
