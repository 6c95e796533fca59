/**
 * What the search for the needed frames takes and what trials have answered so far: which frames may be needed, how likely that is, and for each
 * trial that counts what was sent and whether the module worked. Nothing here knows of captures.
 */

/** A frame that may be needed. The order of candidates is the order in which the search prefers to keep them. */
export interface Candidate {
  /** As `frameKey` of the map gives it. */
  readonly key: string;
  /** Who sends it in the vehicle; null where that is not known. */
  readonly group: string | null;
  /** 0..1, before any trial. */
  readonly likelihood: number;
}

/** Senders by one text each; a frame of a sender that is not known is one of its own. */
export const senderOf = ({ key, group }: Pick<Candidate, 'key' | 'group'>): string => group ?? `alone ${key}`;

/** A trial that counts: neither unclear nor set aside. */
export interface Answer {
  /** Trial number. */
  readonly trial: number;
  /** Keys of the frames sent. */
  readonly sent: ReadonlySet<string>;
  readonly works: boolean;
  /** Seconds from power-up to the end of the recording. */
  readonly watchedS: number;
}

export const holdsAll = (set: ReadonlySet<string>, keys: Iterable<string>): boolean => {
  for (const key of keys) if (!set.has(key)) return false;
  return true;
};

export const sameSet = (a: ReadonlySet<string>, b: ReadonlySet<string>): boolean => a.size === b.size && holdsAll(a, b);

/** Posterior weights that sum to 1 from logarithms of unnormalised ones. */
export function normalised(logs: readonly number[]): number[] {
  const most = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - most));
  const sum = weights.reduce((a, b) => a + b, 0);
  return weights.map((weight) => weight / sum);
}

/** What a hypothesis says of a set: it works, it does not, or nothing. */
export type Predicted = boolean | null;

/** Logarithm of the likelihood of an answer. errorRate: chance that an answer is not that of the set sent. */
export function logLikelihood(predicted: Predicted, works: boolean, errorRate: number): number {
  if (predicted === null) return Math.log(0.5);
  return Math.log(predicted === works ? 1 - errorRate : errorRate);
}
