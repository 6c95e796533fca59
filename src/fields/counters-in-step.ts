/** Counters of one frame that go in step: one written twice, and one that another determines. */
import { valuesOf } from './counter-at.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { CounterBits } from './selector-candidates.ts';

/** A counter through fewer values than this that another one determines is a bit of a tag or of that one's shadow. */
const OWN_VALUES = 8;
/** Up to this many bytes a frame has one counter; longer ones may have guarded parts that count in step. */
const SHORT_FRAME = 8;
const DETERMINED_SHARE = 0.97;

/** A frame may be broken in which one is written twice. */
const COPY_SHARE = 0.99;

/** By how much a counter of many values is ahead of another, the same throughout: one is written twice. Null where they do not go in step. */
export function aheadOf(rows: PayloadRows, counter: CounterBits, other: CounterBits): number | null {
  const modulus = counter.max - counter.min + 1;
  if (modulus < OWN_VALUES || counter.length !== other.length || rows.count === 0) return null;
  const [own, others] = [valuesOf(rows, counter), valuesOf(rows, other)];
  const ahead = (row: number): number => ((own[row] as number) - (others[row] as number) + modulus) % modulus;
  const usual = ahead(rows.count >> 1);
  const differing = own.reduce((count, _, row) => count + Number(ahead(row) !== usual), 0);
  return differing <= (1 - COPY_SHARE) * rows.count ? usual : null;
}

/** Whether a counter always shows the same value when another counter shows one. */
export function shadows(rows: PayloadRows, counter: CounterBits, other: CounterBits): boolean {
  if (rows.bytes > SHORT_FRAME && counter.max - counter.min + 1 >= OWN_VALUES) return false;
  if (aheadOf(rows, counter, other) !== null) return false;
  const own = valuesOf(rows, counter);
  const lastOf = new Map<number, number>();
  let same = 0;
  valuesOf(rows, other).forEach((value, row) => {
    if (lastOf.get(value) === own[row]) same++;
    lastOf.set(value, own[row] as number);
  });
  return same >= DETERMINED_SHARE * (rows.count - lastOf.size);
}
