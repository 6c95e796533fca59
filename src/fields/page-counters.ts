/**
 * Counters on pages. One may go on from page to page, on all of them or on those that have it. Or each page keeps its own: from one time that a
 * page is sent to its next they count on, whatever the other pages show. One page alone may as well hold a ramp; what counts by one rule in one
 * place on several pages is a counter.
 */
import { bitPositions, type Placement } from '../frames/bits.ts';
import type { MapCounter } from '../map/schema.ts';
import type { CounterFinding } from './counter-at.ts';
import { counterOf } from './counter-words.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, findCounters } from './counters.ts';
import { both, hasBit } from './mask.ts';
import { chainRows, movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { rowsByPage, selectorValues } from './selector-finding.ts';
import type { Steps } from './steps.ts';
import type { Explained, FieldFinding } from './types.ts';

/** Frames of a page without which it is not looked at. */
const ROWS_MIN = 40;
const PAGES_MIN = 2;
/** Of the pages on which any of the bits moves, the share on which they must count. */
const PAGES_SHARE = 0.8;

interface OnPage {
  readonly page: number;
  /** [bytes] bits that move on it. */
  readonly moved: Uint8Array;
  readonly counters: readonly CounterFinding[];
}

const ruleOf = ({ lsb, length, order, step, every, min, max }: CounterFinding): string =>
  [lsb.byte, lsb.bit, length, order, step, every, min, max].join(' ');

type RowsByPage = ReturnType<typeof rowsByPage>;

function* pagesOf(rows: PayloadRows, byPage: RowsByPage, free: Uint8Array): Steps<OnPage[]> {
  const pages: OnPage[] = [];
  for (const [page, own] of [...byPage].sort(([a], [b]) => a - b)) {
    if (own.length < ROWS_MIN) continue;
    const sample = sampleRows(chainRows(rows, own), COUNTER_ROWS, COUNTER_STRETCHES);
    const moved = both(movedMask(sample), free);
    pages.push({ page, moved, counters: yield* findCounters(sample, moved) });
  }
  return pages;
}

/** Whether a counter has all of some bits, each as byte * 8 + bit. */
const covers = (counter: Placement, bits: readonly number[]): boolean => {
  const own = bitPositions(counter);
  return bits.every((at) => own.includes(at));
};

interface Instead {
  readonly counters: readonly Explained<MapCounter>[];
  readonly fields: readonly FieldFinding[];
}

/**
 * Such counters in the place of the fields that were seen in their bits: a field that has other bits as well, or lies on a page without one, stays,
 * and they go. Pages are divided first, as they are told apart by counters that each keeps.
 */
export function insteadOfFields(
  counters: readonly Explained<MapCounter>[],
  fields: readonly FieldFinding[],
  selector: string,
): Instead {
  const pagesOfField = ({ when }: FieldFinding): readonly number[] => when?.[selector] ?? [];
  const bitsOf = (place: unknown): number[] => bitPositions(place as Placement);
  const isOn = ({ when }: Explained<MapCounter>, page: number): boolean =>
    when === null || when[selector]?.includes(page) === true;
  const on = (page: number): Explained<MapCounter>[] => counters.filter((counter) => isOn(counter, page));
  const isHeld = (field: FieldFinding, by: (page: number) => readonly Explained<MapCounter>[]): boolean => {
    const pages = pagesOfField(field);
    const bits = bitsOf(field);
    const isCovered = (counter: Explained<MapCounter>): boolean => covers(counter as Placement, bits);
    return pages.length > 0 && pages.every((page) => by(page).some(isCovered));
  };
  const kept = counters.filter((counter) => {
    const own = new Set(bitsOf(counter));
    const sharesPage = (field: FieldFinding): boolean => pagesOfField(field).some((page) => isOn(counter, page));
    return fields.every((field) => !sharesPage(field) || !bitsOf(field).some((at) => own.has(at)) || isHeld(field, on));
  });
  const onKept = (page: number): Explained<MapCounter>[] => on(page).filter((each) => kept.includes(each));
  return { counters: kept, fields: fields.filter((field) => !isHeld(field, onKept)) };
}

/**
 * One that steps at every frame of these pages together, whatever the page: seen page by page it takes even steps as well, where pages come in even turns.
 * bits: those that it must have, byte * 8 + bit.
 */
function* goingOn(
  rows: PayloadRows,
  byPage: RowsByPage,
  free: Uint8Array,
  pages: readonly number[],
  bits: readonly number[],
): Steps<CounterFinding | null> {
  const own = pages.flatMap((page) => [...(byPage.get(page) ?? [])]).sort((a, b) => a - b);
  const sample = sampleRows(chainRows(rows, own), COUNTER_ROWS, COUNTER_STRETCHES);
  const found = yield* findCounters(sample, both(movedMask(sample), free));
  return found.find((counter) => counter.every === 1 && covers(counter, bits)) ?? null;
}

/** One counter for each page that has it, or one for all that go on with it. free: [bytes] bits that moved and that nothing holds. */
export function* countersOfPages(
  rows: PayloadRows,
  selector: Placement & { readonly name: string },
  free: Uint8Array,
): Steps<Explained<MapCounter>[]> {
  const byPage = rowsByPage(selectorValues(rows, selector));
  const pages = yield* pagesOf(rows, byPage, free);
  const byRule = new Map<string, { readonly on: OnPage; readonly counter: CounterFinding }[]>();
  for (const on of pages)
    for (const counter of on.counters) {
      const rule = ruleOf(counter);
      byRule.set(rule, [...(byRule.get(rule) ?? []), { on, counter }]);
    }
  const shared: { readonly finding: CounterFinding; readonly told: Explained<MapCounter> }[] = [];
  const apart: Explained<MapCounter>[] = [];
  for (const own of byRule.values()) {
    const bits = bitPositions((own[0] as (typeof own)[number]).counter);
    const moving = pages.filter(({ moved }) => bits.some((at) => hasBit(moved, at)));
    if (own.length < PAGES_MIN || own.length < PAGES_SHARE * moving.length) continue;
    if (shared.some(({ finding }) => covers(finding, bits))) continue;
    const numbers = moving.map(({ page }) => page);
    const finding = yield* goingOn(rows, byPage, free, numbers, bits);
    if (finding) {
      const told = counterOf(finding, numbers.length === byPage.size ? null : { [selector.name]: numbers });
      shared.push({ finding, told: { ...told, why: `${told.why} It goes on from page to page.` } });
      continue;
    }
    for (const { on, counter } of own) {
      const told = counterOf(counter, { [selector.name]: [on.page] });
      const why = `${told.why} Each page counts by itself; so do ${own.length} of the ${moving.length} on which these bits move.`;
      apart.push({ ...told, name: `${told.name}_page${on.page}`, why });
    }
  }
  const held = new Set(shared.flatMap(({ finding }) => bitPositions(finding)));
  const isOther = (counter: Explained<MapCounter>): boolean =>
    bitPositions(counter as Placement).every((at) => !held.has(at));
  return [...shared.map(({ told }) => told), ...apart.filter(isOther)];
}
