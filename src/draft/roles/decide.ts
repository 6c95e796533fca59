/** The role of each field, with the figures that it is told by: commands and what follows them first, then what a field is by itself. */
import type { SignalRole } from '../../map/schema.ts';
import type { Commands } from './commands.ts';
import { CONFIDENCE, UNSETTLED } from './confidence.ts';
import type { Enable } from './enables.ts';
import type { Fault } from './faults.ts';
import type { Gathering } from './gathers.ts';
import type { Bound } from './limits.ts';
import type { Prepared } from './prepared.ts';
import type { Told } from './told.ts';
import type { Follow, RoleFinding, RoleReason } from './types.ts';
import { wordsOf } from './words.ts';

const round = (value: number): number => Number(value.toPrecision(4));
const ms = (us: number): number => Number((us / 1000).toFixed(1));

export function followOf({ leader, follower, best, spread, tellingUs, p, q, way, sizes, short }: Told): Follow {
  return {
    leader: leader.place,
    follower: follower.place,
    lagMs: ms(best.lagUs),
    lagMsInterval: [ms(spread.lagUs[0]), ms(spread.lagUs[1])],
    tellingMs: ms(tellingUs),
    constantMs: ms(best.constantUs),
    constantMsInterval: [ms(spread.constantUs[0]), ms(spread.constantUs[1])],
    gain: round(spread.gain[0]),
    scale: round(best.scale),
    r2: round(1 - best.unexplained),
    n: best.n,
    p,
    q,
    way,
    sizes,
    heldBack: short?.times ?? 0,
  };
}

const figuresOf = ({
  lagMs,
  lagMsInterval,
  tellingMs,
  constantMs,
  gain,
  r2,
  n,
  q,
  sizes,
  heldBack,
}: Follow): RoleReason['figures'] => ({
  lagMs,
  lagMsInterval: [...lagMsInterval],
  tellingMs,
  constantMs,
  gain,
  r2,
  n,
  q: round(q),
  sizes,
  ...(heldBack > 0 ? { heldBack } : {}),
});

interface Verdict {
  readonly role: SignalRole;
  readonly confidence: number;
  readonly reasons: readonly RoleReason[];
}

export interface Known {
  readonly commands: Commands;
  readonly told: readonly Told[];
  readonly gathers: (field: Prepared) => Gathering | null;
  /** Fields that answer an action first and surely: what the driver touched, by action. */
  readonly touched: (field: Prepared) => string | null;
  readonly isLed: (field: Prepared) => boolean;
  /** Surest first. */
  readonly bounds: readonly Bound[];
  readonly enables: readonly Enable[];
  readonly faults: readonly Fault[];
}

const settled = (confidence: number, { leader, follower }: Told): number =>
  leader.sender === null || follower.sender === null ? confidence * UNSETTLED : confidence;

function asCommand(field: Prepared, { commands }: Known): Verdict | null {
  const own = commands.commands.filter(({ leader }) => leader === field);
  const [first] = own;
  if (!first) return null;
  const reasons = own.map((one): RoleReason => ({
    kind: 'leads',
    with: one.follower.place,
    figures: figuresOf(followOf(one)),
  }));
  return { role: 'command', confidence: settled(CONFIDENCE.command, first), reasons };
}

function asFollower(field: Prepared, { commands }: Known): Verdict | null {
  const own = [...commands.commands, ...commands.open].filter(({ follower }) => follower === field);
  const [first] = own;
  if (!first) return null;
  const reason: RoleReason = { kind: 'follows', with: first.leader.place, figures: figuresOf(followOf(first)) };
  return { role: 'feedback', confidence: settled(CONFIDENCE.follower, first), reasons: [reason] };
}

/** What says again what a person moves may be a command, and what comes of it untold: what glides must have something before it, or be a command itself. */
function asCopy(field: Prepared, known: Known): Verdict | null {
  const { told, commands, gathers, touched, isLed } = known;
  const isInput = (leader: Prepared): boolean => {
    if (commands.heads.has(leader) || commands.open.some((one) => one.leader === leader)) return true;
    if (commands.commands.some((one) => one.leader === leader || one.follower === leader)) return false;
    return leader.goesBySteps ? touched(leader) !== null : gathers(leader) === null && !isLed(leader);
  };
  const [first] = told
    .filter(({ follower, way }) => follower === field && way === 'copy')
    .sort((a, b) => a.openInAll - b.openInAll);
  if (!first || isInput(first.leader)) return null;
  const reason: RoleReason = { kind: 'copies', with: first.leader.place, figures: figuresOf(followOf(first)) };
  return { role: 'echo', confidence: settled(CONFIDENCE.copy, first), reasons: [reason] };
}

function asConsequence(field: Prepared, { commands, gathers }: Known): Verdict | null {
  const behind = commands.behind.get(field);
  if (behind?.why === 'answers') {
    const reason: RoleReason = { kind: 'behind', with: behind.of.place, figures: { rho: round(behind.rho) } };
    return { role: 'feedback', confidence: CONFIDENCE.answers, reasons: [reason] };
  }
  const gathering = behind ?? gathers(field);
  if (!gathering) return null;
  const figures = { rho: round(gathering.rho), sumOverTime: 1 };
  return {
    role: 'feedback',
    confidence: CONFIDENCE.gathers,
    reasons: [{ kind: 'behind', with: gathering.of.place, figures }],
  };
}

/** What heads a chain to a command is set by a person, and so is what answers first and has nothing before it. */
function asInput(field: Prepared, { commands, touched, isLed }: Known): Verdict | null {
  const action = isLed(field) ? null : touched(field);
  if (action !== null)
    return { role: 'state', confidence: CONFIDENCE.input, reasons: [{ kind: 'answers', figures: { action } }] };
  if (!commands.heads.has(field)) return null;
  return { role: 'state', confidence: CONFIDENCE.head, reasons: [{ kind: 'leads', figures: { chain: 2 } }] };
}

function asLimit(field: Prepared, { bounds }: Known): Verdict | null {
  const own = bounds.filter(({ limit }) => limit === field);
  const reasons = own.map(({ bounded, times, levels, seconds, exceeds, ratio, n, p, q }): RoleReason => {
    const figures = { times, levels, seconds: round(seconds), exceeds: round(exceeds), ratio: round(ratio), n, p, q };
    return { kind: 'bounds', with: bounded.place, figures };
  });
  return reasons.length > 0 ? { role: 'limit', confidence: CONFIDENCE.limit, reasons } : null;
}

function asFault(field: Prepared, { faults }: Known): Verdict | null {
  const own = faults.filter(({ flag }) => flag === field);
  const reasons = own.map(({ trouble, of, silent, value, times, agreement, p, q }): RoleReason => {
    const figures = { trouble, value, times, agreement: round(agreement), p: round(p), q: round(q) };
    return {
      kind: 'warns',
      ...(of ? { with: of.place } : {}),
      figures: silent === null ? figures : { ...figures, silent },
    };
  });
  return reasons.length > 0 ? { role: 'fault', confidence: CONFIDENCE.fault, reasons } : null;
}

function asEnable(field: Prepared, { enables }: Known): Verdict | null {
  const own = enables.filter(({ flag }) => flag === field);
  const reasons = own.map(({ acting, value, turns, asked, refused, without, agreement, p, q }): RoleReason => {
    const figures = { value, turns, asked, refused, without: round(without), agreement: round(agreement) };
    return { kind: 'enables', with: acting.place, figures: { ...figures, p: round(p), q: round(q) } };
  });
  return reasons.length > 0 ? { role: 'enable', confidence: CONFIDENCE.enable, reasons } : null;
}

function asStates({ candidate, field }: Prepared): Verdict | null {
  const { kind } = candidate.field;
  if (kind !== 'states' && kind !== 'flag') return null;
  const figures = { values: field.distinct, changes: field.changes.length };
  return { role: 'state', confidence: CONFIDENCE.values, reasons: [{ kind: 'values', figures }] };
}

/** It may be a command whose reason is on no bus, or what a person moves: the capture does not tell them apart. */
function asOpen(field: Prepared, { commands }: Known): Verdict | null {
  const own = commands.open.filter(({ leader }) => leader === field);
  if (own.length === 0) return null;
  const reasons = own.map((one): RoleReason => ({
    kind: 'open',
    with: one.follower.place,
    figures: figuresOf(followOf(one)),
  }));
  return { role: 'unknown', confidence: 0, reasons };
}

const UNKNOWN: Verdict = { role: 'unknown', confidence: 0, reasons: [] };

export function decideRole(field: Prepared, known: Known): RoleFinding {
  const number = field.isNumber
    ? (asInput(field, known) ??
      asCommand(field, known) ??
      asOpen(field, known) ??
      asFollower(field, known) ??
      asLimit(field, known) ??
      asCopy(field, known) ??
      asConsequence(field, known))
    : null;
  const verdict = number ?? asFault(field, known) ?? asEnable(field, known) ?? asStates(field) ?? UNKNOWN;
  return { ...field.place, ...verdict, why: wordsOf(verdict.reasons) };
}
