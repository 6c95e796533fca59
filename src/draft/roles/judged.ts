/** Of two numbers that go together: what is known of the one that comes after the other. */
import type { Shortfall } from './falls-short.ts';
import type { OwnMotion } from './own-motion.ts';
import type { Prepared } from './prepared.ts';
import type { Best, Sizes, Spread } from './tie.ts';

export interface Judged {
  readonly leader: Prepared;
  readonly follower: Prepared;
  readonly best: Best;
  readonly spread: Spread;
  /** own: each setting is answered to a size of its own, as of what limits hold back. */
  readonly sizes: Sizes;
  /** Where it was held back; the fit is of the rest. Null where it was not, or that is not sure. */
  readonly short: Shortfall | null;
  /** What the best fit of all of it leaves open, those times included: by which leaders are held against each other. */
  readonly openInAll: number;
  /** Follower's raw values, of the best pure delay. */
  readonly copyResidualSd: number;
  readonly tellingUs: number;
  readonly p: number;
  /** Correlation of what both change by in half a second, the follower's so much later. */
  readonly changes: number;
  /** Follower's raw values: its own dither, and what the leader's dither and both roundings make of it. */
  readonly dither: number;
  readonly ditherPassedOn: number;
  /** What reading the leader straight between its frames misses. */
  readonly missed: number;
  /** Leader's raw values: its dither, what rounding makes of it, and how far it goes in a second when it moves. */
  readonly leaderDither: number;
  readonly leaderRounding: number;
  readonly leaderPace: number;
  readonly own: OwnMotion;
  /** What the value does on its way while it waits for the next frame, when it moves. */
  readonly whileWaiting: number;
}

export type Dithers = Pick<Judged, 'dither' | 'ditherPassedOn' | 'leaderDither' | 'leaderRounding'>;

/** As far as the lag was looked for: before dither, chance and motions of its own are told. */
export type LagFound = Omit<Judged, keyof Dithers | 'p' | 'changes' | 'leaderPace' | 'missed' | 'own' | 'whileWaiting'>;
