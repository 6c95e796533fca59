/** Right, false and missed claims of one sort, and their sums over vehicles. */
export interface Claims {
  readonly right: number;
  readonly wrong: number;
  /** True and not claimed, those included for which something else was claimed: right and missed are all there are. */
  readonly missed: number;
}

export const sumOf = <T>(scores: readonly T[], of: (score: T) => number): number =>
  scores.reduce((sum, score) => sum + of(score), 0);

export const addClaims = <T>(scores: readonly T[], of: (score: T) => Claims): Claims => ({
  right: sumOf(scores, (score) => of(score).right),
  wrong: sumOf(scores, (score) => of(score).wrong),
  missed: sumOf(scores, (score) => of(score).missed),
});
