/** The fields' scorecard as text: one row a condition and simulator, each figure with its n. */
import { textTable } from '../../src/cli/text-table.ts';
import {
  addCard,
  f1,
  MOVES,
  newScorecard,
  precision,
  recall,
  type Claim,
  type Scorecard,
  type SpanGroup,
  type Tally,
} from './fields-scorecard.ts';
import { VERDICTS } from './fields-oracle.ts';
import type { Trouble } from './fields-trouble.ts';

const there = ({ right, missed }: Tally): number => right + missed;
const judged = ({ right, wrong }: Tally): number => right + wrong;
const figure = (value: number): string => (Number.isNaN(value) ? '-' : value.toFixed(3).replace(/^0/, ''));

const both = (tally: Tally): string => `${figure(precision(tally))} ${figure(recall(tally))} (${there(tally)})`;
const whole = (tally: Tally): string =>
  `${figure(precision(tally))} ${figure(recall(tally))} ${figure(f1(tally))} (${there(tally)})`;
const single = (tally: Tally): string => `${figure(precision(tally))} (${judged(tally)})`;
const ofAll = (tally: Tally): string => {
  const all = judged(tally) + tally.missed;
  return `${figure(tally.right / all)} (${all})`;
};

export type Row = readonly [name: string, card: Scorecard];

const columns = (heads: readonly string[]): { head: string; right?: boolean }[] =>
  heads.map((head, i) => ({ head, right: i > 0 }));

function findersTable(rows: readonly Row[]): string {
  const heads = [
    'condition',
    'counters P R (n)',
    'rule',
    'checksums P R (n)',
    'holds again',
    'selectors P R (n)',
    'mac',
    'tellable',
    'unsolved',
    'tellable',
    'in cipher',
    'recall beside',
  ];
  return textTable(
    columns(heads),
    rows.map(([name, card]) => [
      `${name} (${card.vehicles})`,
      both(card.counters),
      single(card.counterRules),
      both(card.checksums),
      ofAll(card.otherDrive),
      both(card.selectors),
      both(card.mac),
      both(card.macTold),
      both(card.unsolved),
      both(card.unsolvedTold),
      `${card.cipher.claims} (${card.cipher.frames})`,
      figure(recall(card.cipher.spans)),
    ]),
  );
}

function spansTable(rows: readonly Row[]): string {
  const heads = [
    'condition',
    'exact spans P R F1 (n)',
    'without pages F1',
    'flip-rate rule',
    'byte order',
    'seen',
    'sign',
    'without a sign',
    'float, bcd',
  ];
  return textTable(
    columns(heads),
    rows.map(([name, card]) => [
      `${name} (${card.vehicles})`,
      whole(card.spans.all),
      figure(f1(card.unpaged)),
      figure(f1(card.baseline)),
      single(card.order),
      figure(judged(card.order) / (judged(card.order) + card.order.missed)),
      single(card.sign),
      single(card.noSign),
      single(card.coding),
    ]),
  );
}

function groupsTable(rows: readonly Row[]): string {
  const names: SpanGroup[] = ['in a byte', 'little', 'big', 'signed', 'unsigned', 'outside pages', 'on pages'];
  return textTable(
    columns(['exact spans F1 (n)', ...names]),
    rows.map(([name, card]) => [
      name,
      ...names.map((group) => `${figure(f1(card.spans[group]))} (${there(card.spans[group])})`),
    ]),
  );
}

function movesTable(rows: readonly Row[]): string {
  return textTable(
    columns(['exact spans R (n), moved', ...MOVES]),
    rows.map(([name, card]) => [
      name,
      ...MOVES.map((group) => `${figure(recall(card.byMoves[group]))} (${there(card.byMoves[group])})`),
    ]),
  );
}

/** Makers first, as they differ most in how much their fields move. */
function byMaker(rows: readonly Row[]): Row[] {
  const cards = new Map<string, Scorecard>();
  for (const [name, card] of rows) {
    const maker = `${name.split(' ')[0]}, all`;
    if (!cards.has(maker)) cards.set(maker, newScorecard());
    addCard(cards.get(maker) as Scorecard, card);
  }
  return [...cards];
}

function tellableTable(rows: readonly Row[]): string {
  const heads = [
    'without pages',
    'F1 (n)',
    'tellable F1 (n)',
    'tellable P R',
    'never parted R (n)',
    'hardly parted R (n)',
  ];
  return textTable(
    columns(heads),
    rows.map(([name, { unpaged, tellable, neverParted, hardlyParted }]) => [
      name,
      `${figure(f1(unpaged))} (${there(unpaged)})`,
      `${figure(f1(tellable))} (${there(tellable)})`,
      `${figure(precision(tellable))} ${figure(recall(tellable))}`,
      `${figure(recall(neverParted))} (${there(neverParted)})`,
      `${figure(recall(hardlyParted))} (${there(hardlyParted)})`,
    ]),
  );
}

/** Shares of the fields that were missed though the capture lets them be told; those of guards and of the division apart. */
function oracleTable(rows: readonly Row[]): string {
  return textTable(
    columns(['without pages, told', 'missed of (n)', ...VERDICTS]),
    rows.map(([name, { oracle, tellable }]) => {
      const missed = VERDICTS.reduce((sum, verdict) => sum + oracle[verdict], 0);
      const shares = VERDICTS.map((verdict) => `${figure(oracle[verdict] / missed)} (${oracle[verdict]})`);
      return [name, `${missed} of (${there(tellable)})`, ...shares];
    }),
  );
}

const EDGES = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98];
const rightOf = (claims: readonly Claim[]): number => claims.filter(({ right }) => right).length;

function confidenceTable(claims: readonly Claim[]): string {
  const rows = EDGES.map((from, i) => {
    const own = claims.filter(({ confidence }) => confidence >= from && confidence < (EDGES[i + 1] ?? 2));
    const stated = own.reduce((sum, { confidence }) => sum + confidence, 0) / own.length;
    return [`from ${from}`, figure(stated), figure(rightOf(own) / own.length), String(own.length)];
  });
  return textTable(columns(['confidence', 'stated', 'right', 'n']), rows);
}

/** Share right of the claims called about 0.9 sure. */
export function aboutNinety(claims: readonly Claim[]): { share: number; n: number } {
  const own = claims.filter(({ confidence }) => confidence >= 0.85 && confidence < 0.95);
  return { share: rightOf(own) / own.length, n: own.length };
}

const SURE = 0.98;

/** Of all true fields, the share that the surest claims cover while that share of these claims is right. */
export function sureShare({ claims, spans }: Scorecard): number {
  const levels = [...new Set(claims.map(({ confidence }) => confidence))];
  const covered = levels.map((level) => {
    const own = claims.filter(({ confidence }) => confidence >= level);
    const right = rightOf(own);
    return right >= SURE * own.length ? right : 0;
  });
  return Math.max(0, ...covered) / there(spans.all);
}

const WORST = 25;

function causesTable(troubles: readonly Trouble[], by: (trouble: Trouble) => string, head: string): string {
  const times = new Map<string, number>();
  for (const trouble of troubles) times.set(by(trouble), (times.get(by(trouble)) ?? 0) + 1);
  const rows = [...times].sort((a, b) => b[1] - a[1]).slice(0, WORST);
  return textTable(
    columns([head, 'n']),
    rows.map(([cause, n]) => [cause, String(n)]),
  );
}

export function troublesText(troubles: readonly Trouble[]): string {
  return troubles
    .map(({ what, cause, model, at, text }) => `${what}: ${cause} | ${model} | ${at} | ${text}`)
    .join('\n');
}

export function printCard(rows: readonly Row[], sum: Scorecard): string {
  const all: Row[] = [...rows, ['all', sum]];
  const { share, n } = aboutNinety(sum.claims);
  const spans = sum.troubles.filter(({ what }) => what === 'span');
  const others = sum.troubles.filter(({ what }) => what !== 'span');
  return [
    findersTable(all),
    spansTable(all),
    groupsTable(all),
    movesTable(all),
    tellableTable([...rows, ...byMaker(rows), ['all', sum]]),
    oracleTable([...byMaker(rows), ['all', sum]]),
    confidenceTable(sum.claims),
    `called about 0.9 sure: ${figure(share)} right of ${n}; the surest claims that are ${SURE} right cover ${figure(sureShare(sum))} of ${there(sum.spans.all)} fields`,
    causesTable(spans, ({ cause }) => cause, 'spans, cause'),
    causesTable(others, ({ what, cause }) => `${what}: ${cause}`, 'others, cause'),
  ].join('\n\n');
}
