/** Scores as text: one row a condition, each figure with its n. */
import { textTable } from '../../src/cli/text-table.ts';
import { mean, sorted } from '../../src/kit/statistics/order.ts';
import { addClaims, sumOf, type Claims } from './support/claims.ts';
import type { TimingScore } from './timing-scorecard.ts';

/** One of the values, the next greater one where the share falls between two: of few, interpolation would flatter. NaN of none. */
export function quantileOf(values: readonly number[], share: number): number {
  const ascending = sorted(values);
  return ascending[Math.min(ascending.length - 1, Math.floor(share * ascending.length))] ?? NaN;
}

type Claimed = 'replies' | 'copies' | 'turns' | 'modePeriods' | 'clock' | 'stamps';

export interface Totals extends Pick<TimingScore, Claimed | 'periodErrors' | 'periods'> {
  readonly vehicles: number;
  readonly index: number;
  readonly precision: number;
  readonly recall: number;
  readonly identifiers: number;
  readonly confident: number;
  readonly confidentRight: number;
  readonly kinds: number;
  readonly kindsRight: number;
}

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
  return textTable(
    HEADS.map((head) => ({ head })),
    cells,
  );
}

/** Rows: true kinds; columns: what they were called. */
export function printConfusion(scores: readonly TimingScore[]): string {
  const kinds = ['periodic', 'mixed', 'on-change', 'reply', 'once'];
  const all = scores.flatMap((score) => score.kinds);
  const count = (truth: string, found: string): string =>
    String(all.filter(([a, b]) => a === truth && b === found).length);
  return textTable(
    ['true \\ called', ...kinds].map((head) => ({ head })),
    kinds.map((truth) => [truth, ...kinds.map((found) => count(truth, found))]),
  );
}
