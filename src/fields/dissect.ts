/**
 * Takes the rows of one identifier apart, each finder working on what the ones before it left unclaimed: what a person
 * placed, counters and checksums, the selector and the fields of its pages, the fields that are always there.
 */
import type { Piece } from '../frames/bits.ts';
import type { MapCounter } from '../map/schema.ts';
import { findChecksums } from './checksums/find.ts';
import { findUnsolved } from './checksums/unsolved.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, countsLikeClock, findCounters, shadows } from './counters.ts';
import { counterOf } from './counter-words.ts';
import { describePlaced, describeSpan, placeName } from './describe.ts';
import { divide, type DivideOptions } from './divide.ts';
import type { BusHabits } from './habits.ts';
import { guardCounters, type GuardCounters } from './guard-counters.ts';
import { claim } from './mask.ts';
import { guardsOfPages } from './page-guards.ts';
import { fieldsOfPages } from './pages.ts';
import { movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { commonSpans } from './page-common.ts';
import { leavesOf } from './page-leaves.ts';
import { goesOnOverPages, selectorOf, toMapSelector } from './selector-words.ts';
import type { CounterBits } from './selector-candidates.ts';
import { findSelectors } from './selectors.ts';
import type { Steps } from './steps.ts';
import type { Explained, FrameFindings } from './types.ts';
import { unclaimedOf } from './unclaimed.ts';

export interface DissectOptions extends DivideOptions {
  readonly id: number;
  /** Of the identifier's bus; null at the first look. */
  readonly habits: BusHabits | null;
}

export type Parts = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields' | 'unclaimed'>;

/** Counters and checksums. A checksum over slow content steps like a counter; where both claim a bit, the rule wins. */
function* findGuards(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  { id, habits }: DissectOptions,
): Steps<GuardCounters & Pick<Parts, 'checksums'>> {
  const found = yield* findCounters(sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES), free);
  const counters = found.map((counter) => counterOf(counter, null));
  const checksums = yield* findChecksums(rows, { id, usable, counters, when: null, habits: habits?.rules ?? [] });
  const beside = yield* guardCounters(rows, free, counters, checksums, null);
  const tag = checksums.length === 0 ? findUnsolved(rows, beside.counters, usable, null, habits?.rules ?? []) : null;
  return { ...beside, checksums: tag ? [tag] : checksums };
}

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
  const guards = yield* findGuards(rows, free, usable, options);
  guards.checksums.forEach((rule) => take(rule as Piece));
  guards.sure.forEach((counter) => take(counter as Piece));
  const found = yield* findSelectors(rows, free, guards.counters as unknown as CounterBits[]);
  const selectors = found.map(selectorOf);
  const counters = withoutShadows(
    rows,
    guards.counters.filter(
      (each) =>
        guards.sure.includes(each) || (!countsLikeClock(each) && goesOnOverPages(rows, each as CounterBits, found)),
    ),
  );
  counters.forEach((counter) => take(counter as Piece));
  const byHand = placed.map((placement) => describePlaced(placement, rows, placeName(placement)));
  if (selectors.length === 0) {
    const { spans } = yield* divide(rows, free, usable, options);
    const fields = spans.map((span) => describeSpan(span, rows, placeName(span), null));
    return {
      checksums: guards.checksums,
      counters,
      selectors: [],
      fields: [...byHand, ...fields],
      unclaimed: unclaimedOf(rows, usable, spans),
    };
  }
  const outer = selectors[0] as (typeof selectors)[number];
  take(outer);
  const own = yield* guardsOfPages(rows, outer, free, usable, options.id);
  for (const guard of [...own.counters, ...own.checksums]) take(guard as Piece);
  const leaves = leavesOf(rows, selectors);
  const spans = yield* commonSpans(rows, leaves, free, usable, options);
  spans.forEach(take);
  const paged = yield* fieldsOfPages(rows, leaves, free, usable, options);
  for (const place of [...selectors, ...paged]) claim(usable, place as Piece);
  const common = spans.map((span) => describeSpan(span, rows, placeName(span), null));
  return {
    counters: [...counters, ...own.counters],
    checksums: [...guards.checksums, ...own.checksums],
    selectors: selectors.map((each) => toMapSelector(each, outer)),
    fields: [...byHand, ...common, ...paged],
    unclaimed: unclaimedOf(rows, usable, spans),
  };
}
