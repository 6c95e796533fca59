/**
 * Takes the rows of one identifier apart, each finder working on what the ones before it left unclaimed: what a person
 * placed, counters and checksums, the selector and the fields of its pages, the fields that are always there.
 */
import type { Piece, Placement } from '../frames/bits.ts';
import { bitPositions } from '../frames/bits.ts';
import type { MapCounter, MapSelector } from '../map/schema.ts';
import { findChecksums } from './checksums/find.ts';
import { findUnsolved } from './checksums/unsolved.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, countsLikeClock, findCounters, shadows } from './counters.ts';
import { counterOf } from './counter-words.ts';
import { describePlaced, describeSpan, placeName } from './describe.ts';
import { divide, type DivideOptions } from './divide.ts';
import { claim } from './mask.ts';
import { countersBeside, guardsOfPages } from './page-guards.ts';
import { fieldsOfPages } from './pages.ts';
import { movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { findSelector, type CounterBits, type SelectorFinding } from './selectors.ts';
import type { Steps } from './steps.ts';
import type { Explained, FrameFindings } from './types.ts';
import { unclaimedOf } from './unclaimed.ts';

export interface DissectOptions extends DivideOptions {
  readonly id: number;
}

export type Parts = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields' | 'unclaimed'>;

const overlap = (a: Placement, b: Placement): boolean => {
  const positions = new Set(bitPositions(a));
  return bitPositions(b).some((position) => positions.has(position));
};

/** Counters and checksums. A checksum over slow content steps like a counter; where both claim a bit, the rule wins. */
function* findGuards(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  id: number,
): Steps<Pick<Parts, 'counters' | 'checksums'>> {
  const found = yield* findCounters(sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES), free);
  const counters = found.map((counter) => counterOf(counter, null));
  const checksums = yield* findChecksums(rows, { id, usable, counters, when: null });
  const beside = yield* countersBeside(rows, free, counters, checksums, null);
  const tag = checksums.length === 0 ? findUnsolved(rows, beside, usable, null) : null;
  return { counters: beside, checksums: tag ? [tag] : checksums };
}

function selectorOf(finding: SelectorFinding): Explained<MapSelector> {
  const { lsb, length, order, values, saved } = finding;
  const percent = Math.round(100 * saved);
  return {
    name: `selector_${placeName(finding)}`,
    lsb: { ...lsb },
    length,
    order,
    confidence: Math.round(100 * Math.min(0.95, (values.length === 2 ? 0.3 : 0.5) + saved / 2)) / 100,
    why:
      `Its ${values.length} values take turns, and frames of equal value are alike: read page by page ` +
      `the other bits take ${percent} % less to write down.`,
  };
}

/** Bits that the pages hold are no counters; the selector itself is one only in passing. */
const outsidePages = (placement: Placement, selector: SelectorFinding): boolean =>
  !overlap(placement, selector) &&
  bitPositions(placement).every((at) => (((selector.paged[at >> 3] as number) >> (at & 7)) & 1) === 0);

/** Without counters that another one determines; the first, being the steadiest and longest, stays. */
function withoutShadows(
  rows: PayloadRows,
  counters: readonly Explained<MapCounter>[],
): readonly Explained<MapCounter>[] {
  if (counters.length < 2) return counters;
  const sample = sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES);
  const kept: Explained<MapCounter>[] = [];
  for (const counter of counters) {
    const isShadow = kept.some((other) => shadows(sample, counter as CounterBits, other as CounterBits));
    if (!isShadow) kept.push(counter);
  }
  return kept;
}

const within = (a: Uint8Array, b: Uint8Array): Uint8Array => a.map((bits, byte) => bits & (b[byte] as number));

/** rows: all frames of the usual length. */
export function* dissect(rows: PayloadRows, options: DissectOptions): Steps<Parts> {
  const free = movedMask(rows);
  const usable = new Uint8Array(rows.bytes).fill(0xff);
  const take = (placement: Piece): void => {
    claim(free, placement);
    claim(usable, placement);
  };
  const placed = options.decisions
    .filter((decision) => decision.kind === 'field')
    .map((decision) => decision.placement);
  placed.forEach(take);
  const guards = yield* findGuards(rows, free, usable, options.id);
  guards.checksums.forEach((rule) => take(rule as Piece));
  const selector = yield* findSelector(rows, free, guards.counters as unknown as CounterBits[]);
  const counters = withoutShadows(
    rows,
    guards.counters.filter(
      (counter) => !countsLikeClock(counter) && (!selector || outsidePages(counter as Placement, selector)),
    ),
  );
  counters.forEach((counter) => take(counter as Piece));
  const byHand = placed.map((placement) => describePlaced(placement, rows, placeName(placement)));
  if (!selector) {
    const { spans } = yield* divide(rows, free, usable, options);
    const fields = spans.map((span) => describeSpan(span, rows, placeName(span), null));
    return {
      ...guards,
      counters,
      selectors: [],
      fields: [...byHand, ...fields],
      unclaimed: unclaimedOf(rows, usable, spans),
    };
  }
  take(selector);
  const named = selectorOf(selector);
  const own = yield* guardsOfPages(rows, { ...selector, name: named.name }, free, usable, options.id);
  for (const guard of [...own.counters, ...own.checksums]) take(guard as Piece);
  const paged = yield* fieldsOfPages(
    rows,
    { ...selector, name: named.name, paged: within(selector.paged, free) },
    usable,
    options,
  );
  for (let byte = 0; byte < rows.bytes; byte++) {
    const bits = selector.paged[byte] as number;
    free[byte] = (free[byte] as number) & ~bits;
    usable[byte] = (usable[byte] as number) & ~bits;
  }
  const { spans } = yield* divide(rows, free, usable, options);
  const common = spans.map((span) => describeSpan(span, rows, placeName(span), null));
  return {
    counters: [...counters, ...own.counters],
    checksums: [...guards.checksums, ...own.checksums],
    selectors: [named],
    fields: [...byHand, ...common, ...paged],
    unclaimed: unclaimedOf(rows, usable, spans),
  };
}
