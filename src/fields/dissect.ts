/**
 * Takes the rows of one identifier (or of one page of it) apart, each finder working on what the ones before it
 * left unclaimed.
 */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import { bitPositions } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';
import { findChecksums } from './checksums/find.ts';
import { COUNTER_ROWS, findCounters } from './counters.ts';
import { counterOf } from './counter-words.ts';
import { claim } from './mask.ts';
import { describeSpan, placeName } from './describe.ts';
import { dropRepeats, movedMask, sampleRows, type PayloadRows } from './payload-rows.ts';
import { priceSpans, segment, type Segmentation } from './segment.ts';
import type { FrameFindings, HandDecision } from './types.ts';
import { unclaimedOf } from './unclaimed.ts';

export type OrderBits = Readonly<Record<ByteOrder, number>>;
export const UNBIASED: OrderBits = { little: 0, big: 0 };

export interface DissectOptions {
  readonly id: number;
  readonly decisions: readonly HandDecision[];
  readonly orderBits: OrderBits;
}

export type Parts = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields' | 'unclaimed'>;

/** Rows that the division into spans is decided on. */
const SPAN_ROWS = 1600;

/** Divides the bits of `free` into spans. */
function divide(rows: PayloadRows, free: Uint8Array, usable: Uint8Array, options: DissectOptions): Segmentation {
  const sample = dropRepeats(sampleRows(dropRepeats(rows, free), SPAN_ROWS), free);
  const refused: Piece[] = options.decisions.filter((d) => d.kind === 'refused').map((d) => d.placement);
  const candidates = priceSpans(sample, free, usable);
  return segment(rows.bytes, candidates, {
    free,
    orderBits: options.orderBits,
    refused,
    leaveBits: 4 + sample.count,
  });
}

const overlap = (a: Piece, b: Piece): boolean => {
  const positions = new Set(bitPositions(a));
  return bitPositions(b).some((position) => positions.has(position));
};

/** Counters and checksums. A checksum over slow content steps like a counter; where both claim a bit, the rule wins. */
function findGuards(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  options: DissectOptions,
  when: When,
): Pick<Parts, 'counters' | 'checksums'> {
  const counters = findCounters(sampleRows(rows, COUNTER_ROWS), free).map((counter) => counterOf(counter, when));
  const checksums = findChecksums(rows, { id: options.id, usable, counters, when });
  return { counters: counters.filter((counter) => !checksums.some((rule) => overlap(rule, counter))), checksums };
}

export function dissect(rows: PayloadRows, options: DissectOptions, when: When = null): Parts {
  const free = movedMask(rows);
  const usable = new Uint8Array(rows.bytes).fill(0xff);
  const take = (placement: Piece): void => {
    claim(free, placement);
    claim(usable, placement);
  };
  for (const decision of options.decisions) if (decision.kind === 'field') take(decision.placement);
  const guards = findGuards(rows, free, usable, options, when);
  [...guards.counters, ...guards.checksums].forEach(take);
  const { spans } = divide(rows, free, usable, options);
  const fields = spans.map((span) => describeSpan(span, rows, placeName(span), when));
  return {
    ...guards,
    selectors: [],
    fields,
    unclaimed: unclaimedOf(rows, usable, spans),
  };
}
