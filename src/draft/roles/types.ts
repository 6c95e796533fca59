/** What is said of the parts that fields play: what follows what, how much later, and the role that comes of it. */
import type { FieldPlace } from '../../fields/same-value/types.ts';
import type { SignalRole } from '../../map/schema.ts';

export type { FieldPlace } from '../../fields/same-value/types.ts';

/**
 * answer: the follower departs from what it follows as what is moved does, by a time constant, a noise or limits of its own;
 * copy: it shows the same later, as a message passed on does; untold: neither is sure.
 */
export type FollowWay = 'answer' | 'copy' | 'untold';

/** One field that shows (nearly) what another shows, later. Intervals are of 95 %. */
export interface Follow {
  readonly leader: FieldPlace;
  readonly follower: FieldPlace;
  /** How much later in all, time constant included. */
  readonly lagMs: number;
  readonly lagMsInterval: readonly [number, number];
  /** What a lag must exceed before it says anything: the slower one's refresh, and its jitter. */
  readonly tellingMs: number;
  /** Of a first-order lag; 0 for a copy. */
  readonly constantMs: number;
  readonly constantMsInterval: readonly [number, number];
  /** What a pure delay leaves open, over what a delay with a memory leaves open. */
  readonly gain: number;
  /** Follower's raw value for one step of the leader's. */
  readonly scale: number;
  /** Share of the follower's variance, where it moves, that the leader and the lag explain. */
  readonly r2: number;
  /** Instants compared. */
  readonly n: number;
  readonly p: number;
  readonly q: number;
  readonly way: FollowWay;
  /** own: each setting was answered to a size of its own, as of what limits hold back; r2 is of that. */
  readonly sizes: 'one' | 'own';
  /** Times that it was held back below what was asked for; r2 and lag are of the rest. */
  readonly heldBack: number;
}

/** A figure behind a role: `kind` says what was found, `with` is the other field it is about. */
export interface RoleReason {
  readonly kind:
    'leads' | 'open' | 'follows' | 'copies' | 'behind' | 'answers' | 'values' | 'bounds' | 'enables' | 'warns';
  readonly with?: FieldPlace;
  readonly figures: Readonly<Record<string, number | string | readonly number[]>>;
}

export interface RoleFinding extends FieldPlace {
  readonly role: SignalRole;
  /** That the role is right, 0..1. */
  readonly confidence: number;
  readonly reasons: readonly RoleReason[];
  /** For a person. */
  readonly why: string;
}

export interface RoleReport {
  readonly roles: readonly RoleFinding[];
  readonly follows: readonly Follow[];
  /** Pairs of fields of different senders that were held against each other: the family that q is over. */
  readonly pairs: number;
}
