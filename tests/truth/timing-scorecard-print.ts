/** Scores as text: one row a condition, each figure with its n. */
import type { Claims, TimingScore } from './timing-scorecard.ts';

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

export function quantileOf(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN;
}

export interface Totals {
  readonly vehicles: number;
  readonly index: number;
  readonly precision: number;
  readonly recall: number;
  readonly identifiers: number;
  readonly confident: number;
  readonly confidentRight: number;
  readonly kinds: number;
  readonly kindsRight: number;
  readonly periodErrors: readonly number[];
  readonly periods: number;
  readonly replies: Claims;
  readonly copies: Claims;
  readonly turns: Claims;
  readonly modePeriods: Claims;
  readonly clock: Claims;
  readonly stamps: Claims;
}

const sumOf = (scores: readonly TimingScore[], of: (score: TimingScore) => number): number =>
  scores.reduce((sum, score) => sum + of(score), 0);

const addClaims = (scores: readonly TimingScore[], of: (score: TimingScore) => Claims): Claims => ({
  right: sumOf(scores, (score) => of(score).right),
  wrong: sumOf(scores, (score) => of(score).wrong),
  missed: sumOf(scores, (score) => of(score).missed),
});

export function addUp(scores: readonly TimingScore[]): Totals {
  return {
    vehicles: scores.length,
    index: mean(scores.map(({ senders }) => senders.index)),
    precision: mean(scores.map(({ senders }) => senders.precision)),
    recall: mean(scores.map(({ senders }) => senders.recall)),
    identifiers: sumOf(scores, ({ senders }) => senders.identifiers),
    confident: sumOf(scores, ({ senders }) => senders.confident),
    confidentRight: sumOf(scores, ({ senders }) => senders.right),
    kinds: sumOf(scores, ({ kinds }) => kinds.length),
    kindsRight: sumOf(scores, ({ kinds }) => kinds.filter(([, , right]) => right).length),
    periodErrors: scores.flatMap(({ periodErrors }) => periodErrors),
    periods: sumOf(scores, ({ periods }) => periods),
    replies: addClaims(scores, ({ replies }) => replies),
    copies: addClaims(scores, ({ copies }) => copies),
    turns: addClaims(scores, ({ turns }) => turns),
    modePeriods: addClaims(scores, ({ modePeriods }) => modePeriods),
    clock: addClaims(scores, ({ clock }) => clock),
    stamps: addClaims(scores, ({ stamps }) => stamps),
  };
}

const ppm = (share: number): string =>
  share < 0.01 ? `${(share * 1e6).toPrecision(2)} ppm` : `${(share * 100).toFixed(0)} %`;
const claimsText = ({ right, wrong, missed }: Claims): string =>
  right + wrong + missed === 0 ? '-' : `${right}/${right + missed}${wrong > 0 ? `, ${wrong} false` : ''}`;

/** Vehicles that lost nothing, and are said to have lost nothing, are not worth a word. */
function lossText(scores: readonly TimingScore[]): string {
  const told = scores.filter(({ lost }) => lost.true > 0 || lost.byCounters > 0 || (lost.inAll ?? 0) > 0);
  const one = ({ lost }: TimingScore): string =>
    `${lost.byCounters}, ${lost.inAll === null ? '?' : Math.round(lost.inAll)} of ${lost.true}`;
  return told.length === 0 ? '-' : told.map(one).join('; ');
}

function loggerText(scores: readonly TimingScore[]): string {
  const told = scores.flatMap(({ loggers }) => loggers);
  const one = ({ state, offsetMs, driftPpm, isWithin }: TimingScore['loggers'][0]): string =>
    state === 'aligned'
      ? `${offsetMs.toPrecision(2)} ms, ${driftPpm.toPrecision(2)} ppm${isWithin === false ? ', out of bounds' : ''}`
      : state;
  return told.length === 0 ? '-' : told.map(one).join('; ');
}

const HEADS = [
  'condition',
  'vehicles',
  'index',
  'pair prec.',
  'recall',
  'confident: right',
  'kinds right',
  'periods: median, 95th, worst',
  'replies',
  'copies',
  'mode borders',
  'periods by mode',
  'clock events',
  'stamps',
  'lost by counters, in all, true',
  'second logger off by',
];

export function printTable(rows: readonly (readonly [name: string, scores: readonly TimingScore[]])[]): string {
  const cells = rows.map(([name, scores]) => {
    const sum = addUp(scores);
    const errors = [0.5, 0.95, 1].map((share) => ppm(quantileOf(sum.periodErrors, share))).join(', ');
    return [
      name,
      String(sum.vehicles),
      sum.index.toFixed(3),
      sum.precision.toFixed(3),
      sum.recall.toFixed(3),
      `${sum.confidentRight} of ${sum.confident} (n ${sum.identifiers})`,
      `${sum.kindsRight} of ${sum.kinds}`,
      `${errors} (n ${sum.periodErrors.length} of ${sum.periods})`,
      claimsText(sum.replies),
      claimsText(sum.copies),
      claimsText(sum.turns),
      claimsText(sum.modePeriods),
      claimsText(sum.clock),
      claimsText(sum.stamps),
      lossText(scores),
      loggerText(scores),
    ];
  });
  return align([HEADS, ...cells]);
}

export function align(rows: readonly (readonly string[])[]): string {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => (row[column] ?? '').length)));
  return rows
    .map((row) =>
      row
        .map((cell, column) => cell.padEnd(widths[column] as number))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}

/** Rows: true kinds; columns: what they were called. */
export function printConfusion(scores: readonly TimingScore[]): string {
  const kinds = ['periodic', 'mixed', 'on-change', 'reply', 'once'];
  const all = scores.flatMap((score) => score.kinds);
  const count = (truth: string, found: string): string =>
    String(all.filter(([a, b]) => a === truth && b === found).length);
  return align([
    ['true \\ called', ...kinds],
    ...kinds.map((truth) => [truth, ...kinds.map((found) => count(truth, found))]),
  ]);
}
