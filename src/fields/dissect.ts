/**
 * Takes the rows of one identifier apart, each finder working on what the ones before it left unclaimed: what a person
 * placed, counters and checksums, the selector and the fields of its pages, the fields that are always there.
 */
import type { Piece, Placement } from '../frames/bits.ts';
import type { MapCounter } from '../map/schema.ts';
import { isPageNumber } from './beside-counter.ts';
import { findChecksums } from './checksums/find.ts';
import { coveredBytes } from './checksums/judge.ts';
import { bitsOfCopies, copiesWithin, turnedCopies } from './checksums/turned-copies.ts';
import { findUnsolved } from './checksums/unsolved.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, countsLikeClock, findCounters } from './counters.ts';
import { shadows } from './counters-in-step.ts';
import { counterOf } from './counter-words.ts';
import { confidenceOf } from './confidence.ts';
import { describePlaced, describeSpan, placeName } from './describe.ts';
import { divide, type DivideOptions } from './divide.ts';
import type { BusHabits } from './habits.ts';
import { withoutFilledRows } from './fillings.ts';
import { guardCounters, type GuardCounters } from './guard-counters.ts';
import { fixedPlaces, withoutRefused } from './hand-rules.ts';
import { claim, either, leftBy, less } from './mask.ts';
import { noiseBytes } from './noise-bytes.ts';
import { countersOfPages, insteadOfFields } from './page-counters.ts';
import { guardsOfPages } from './page-guards.ts';
import { fieldsOfPages } from './pages.ts';
import { movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { goesOnOverPages, selectorOf, toMapSelector } from './selector-words.ts';
import type { CounterBits } from './selector-candidates.ts';
import type { SelectorFinding } from './selector-finding.ts';
import { findSelectors } from './selectors.ts';
import type { Steps } from './steps.ts';
import { surroundingsOf } from './surroundings.ts';
import { textsOf, textsOfPages } from './text-bytes.ts';
import { textSelector } from './text-over-pages.ts';
import type { Explained, FrameFindings } from './types.ts';
import { unclaimedOf } from './unclaimed.ts';
import { withoutFillings } from './wakes.ts';

export interface DissectOptions extends DivideOptions {
  readonly id: number;
  /** Of the identifier's bus; null at the first look. */
  readonly habits: BusHabits | null;
  /** Rows that came behind a pause, ascending. */
  readonly wakes: readonly number[];
}

export type Parts = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields' | 'unclaimed'>;

/** Counters and checksums. A checksum over slow content steps like a counter; where both claim a bit, the rule wins. */
function* findGuards(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  { id, habits, decisions }: DissectOptions,
): Steps<GuardCounters & Pick<Parts, 'checksums'>> {
  const found = yield* findCounters(sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES), free);
  const counters = found.map((counter) => counterOf(counter, null));
  const copies = turnedCopies(rows, leftBy(usable, counters as Piece[]), counters, null);
  yield rows.count;
  const open = less(usable, bitsOfCopies(copies, rows.bytes));
  const checksums = yield* findChecksums(rows, { id, usable: open, counters, when: null, habits: habits?.rules ?? [] });
  const beside = yield* guardCounters(rows, free, counters, checksums, null);
  const tag = checksums.length === 0 ? findUnsolved(rows, beside.counters, open, null, habits?.rules ?? []) : null;
  const told = tag ? [tag] : checksums;
  const left = leftBy(usable, [...beside.counters, ...told] as Piece[]);
  return {
    counters: withoutRefused(beside.counters, decisions),
    sure: withoutRefused(beside.sure, decisions),
    instead: withoutRefused(beside.instead ?? [], decisions),
    checksums: withoutRefused([...told, ...copiesWithin(copies, left)], decisions),
  };
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

/** all: all frames of the usual length. */
export function* dissect(all: PayloadRows, options: DissectOptions): Steps<Parts> {
  const moved = movedMask(all);
  const rows = withoutFillings(all, options.wakes, moved);
  const free = rows === all ? moved : movedMask(rows);
  const usable = new Uint8Array(rows.bytes).fill(0xff);
  const take = (placement: Piece): void => {
    claim(free, placement);
    claim(usable, placement);
  };
  const placed = options.decisions.filter(({ kind }) => kind === 'field');
  for (const placement of fixedPlaces(options.decisions)) take(placement);
  const guards = yield* findGuards(all, free, usable, options);
  guards.checksums.forEach((rule) => take(rule as Piece));
  guards.sure.forEach((counter) => take(counter as Piece));
  const noise = noiseBytes(rows, usable);
  const [quiet, open] = [less(free, noise), less(usable, noise)];
  const isGuarded =
    options.decisions.some(({ checksum }) => checksum !== undefined) ||
    guards.checksums.some(({ method }) => ['xor', 'sum', 'crc'].includes(method));
  const beside = guards.counters as unknown as CounterBits[];
  const text = textSelector(rows, quiet, beside);
  const found = text ? [text] : yield* findSelectors(rows, quiet, beside, isGuarded, { usable: open, options });
  const byHand = placed.map(({ placement, coding }) => describePlaced(placement, rows, placeName(placement), coding));
  const context: Context = { all, rows, free: quiet, usable: open, noise, guards, byHand, options };
  const paged = found.length > 0 ? yield* partsOfPages(context, found) : null;
  return paged ?? (yield* partsWithoutPages(context));
}

interface Context {
  readonly all: PayloadRows;
  /** Without fillings but for one. */
  readonly rows: PayloadRows;
  /** [bytes] bits that nothing holds and that moved, and those and the still ones. */
  readonly free: Uint8Array;
  readonly usable: Uint8Array;
  /** [bytes] bits that nothing holds and that are noise: none of those. */
  readonly noise: Uint8Array;
  readonly guards: GuardCounters & Pick<Parts, 'checksums'>;
  readonly byHand: Parts['fields'];
  readonly options: DissectOptions;
}

/** Of several in step any may be the number of the pages; one alone, without a tag, that the frame comes again with is, found as a selector or not. */
const numbersPages = ({ rows, guards }: Context, counter: Parts['counters'][number]): boolean =>
  guards.counters.length === 1 && guards.checksums.length === 0 && isPageNumber(rows, counter as CounterBits);

/** The counters that are none of the selectors', nor a clock. Parts of a frame that are guarded apart count in step, each beside its own tag. */
const countersBeside = (context: Context, found: readonly SelectorFinding[]): Parts['counters'] => {
  const { rows, guards } = context;
  const goesOn = (each: Parts['counters'][number]): boolean =>
    !countsLikeClock(each) && goesOnOverPages(rows, each as CounterBits, found);
  const counters = guards.counters.filter(
    (each) => guards.sure.includes(each) || (goesOn(each) && !numbersPages(context, each)),
  );
  // What counted most likely was the number of the pages.
  if (counters.length === 0 && found.length > 0 && guards.checksums.length === 0) {
    const other = guards.instead?.find((each) => each.length > 1 && goesOn(each));
    return other ? [other] : [];
  }
  const isInParts = guards.checksums.filter(({ method }) => method !== 'copy').length > 1;
  return isInParts ? counters : withoutShadows(rows, counters);
};

function* partsWithoutPages(context: Context): Steps<Parts> {
  const { rows, guards, byHand, options } = context;
  const counters = countersBeside(context, []);
  const taken = counters as unknown as Piece[];
  const [free, usable] = [leftBy(context.free, taken), leftBy(context.usable, taken)];
  const without = withoutFilledRows(context.all, options.wakes, free, usable);
  const data = without?.rows ?? rows;
  const { spans } = yield* divide(data, free, usable, options, without?.filled ?? null);
  const texts = textsOf(rows, usable);
  yield rows.count;
  const moved = without ? less(free, without.filled.mask) : free;
  const around = surroundingsOf(data, spans, free, leftBy(moved, spans));
  const values = spans.map((span, index) =>
    describeSpan(span, rows, placeName(span), null, (stepShare) =>
      confidenceOf(span, around[index]!, stepShare, options.watch),
    ),
  );
  const fields = [...values, ...texts];
  return {
    checksums: guards.checksums,
    counters,
    selectors: [],
    fields: [...byHand, ...fields],
    unclaimed: unclaimedOf(rows, leftBy(either(usable, context.noise), texts as readonly Placement[]), spans),
  };
}

/** Null where what was taken for a selector tells too little. */
function* partsOfPages(context: Context, found: readonly SelectorFinding[]): Steps<Parts | null> {
  const { rows, guards, byHand, options } = context;
  const selectors = found.map(selectorOf);
  const outer = selectors[0] as (typeof selectors)[number];
  const counters = countersBeside(context, found);
  const taken = [...counters, outer] as Piece[];
  const [free, usable] = [leftBy(context.free, taken), leftBy(context.usable, taken)];
  // A byte that a rule covers on all pages is guarded.
  const covered = new Set(guards.checksums.flatMap(coveredBytes));
  const unguarded = (bits: Uint8Array): Uint8Array => bits.map((own, byte) => (covered.has(byte) ? 0 : own));
  const onPages = yield* guardsOfPages(rows, outer, unguarded(leftBy(free, selectors)), unguarded(usable), options.id);
  const own = {
    counters: withoutRefused(onPages.counters, options.decisions),
    checksums: withoutRefused(onPages.checksums, options.decisions),
  };
  const beside = [...own.counters, ...own.checksums] as Piece[];
  const paged = yield* fieldsOfPages(rows, selectors, leftBy(free, beside), leftBy(usable, beside), options);
  if (!paged) return null;
  const open = leftBy(free, [...beside, ...paged.selectors]);
  const keptByPages = withoutRefused(yield* countersOfPages(rows, outer, open), options.decisions);
  const apart = insteadOfFields(keptByPages, paged.fields, outer.name);
  const held = leftBy(usable, [...beside, ...paged.selectors]);
  const fields = [...apart.fields, ...textsOfPages(rows, paged.selectors, paged.fields, held)];
  return {
    counters: [...counters, ...own.counters, ...apart.counters],
    checksums: [...guards.checksums, ...own.checksums],
    selectors: paged.selectors.map((each) => toMapSelector(each, outer, paged.sure.get(each.name) as number)),
    fields: [...byHand, ...fields],
    unclaimed: unclaimedOf(
      rows,
      leftBy(either(held, context.noise), [...fields, ...apart.counters] as readonly Placement[]),
      [],
    ),
  };
}
