/**
 * Counters beside a tag that did not come round twice within the capture: within a byte, and of two bytes, which hardly ever do. What steps by one at each frame
 * through more values than a byte has is no clock: those keep the time, and frames do not. It is presumed to fill its two bytes.
 */
import { bitPositions, crossesByte, type Placement } from '../frames/bits.ts';
import type { MapCounter, When } from '../map/schema.ts';
import type { CounterFinding } from './counter-at.ts';
import { counterOf } from './counter-words.ts';
import { COUNTER_ROWS, COUNTER_STRETCHES, findCounters } from './counters.ts';
import { hasBit, leftBy, maskOf } from './mask.ts';
import { sampleRows, type PayloadRows } from './payload-rows.ts';
import type { Steps } from './steps.ts';
import type { Explained } from './types.ts';

/** Bytes of tags and those that adjoin them, `reach` of them on either side. */
export function besideTags(tags: readonly Placement[], bytes: number, reach = 1): boolean[] {
  const beside = new Array<boolean>(bytes).fill(false);
  for (const tag of tags)
    for (const at of bitPositions(tag))
      for (let byte = (at >> 3) - reach; byte <= (at >> 3) + reach; byte++)
        if (byte >= 0 && byte < bytes) beside[byte] = true;
  return beside;
}

/** Share of the steps as predicted, lost frames counted in, of what did not come round. */
const RAMP_RIGHT_MIN = 0.99;

const RAMP_BITS_MIN = 5;
const NIBBLE = 4;

/** What steps at each frame, or each few frames through all values, though it did not come round twice. */
function isUnrounded({ length, every, lost, right, steps, rounds, min, max }: CounterFinding): boolean {
  if (right + lost < RAMP_RIGHT_MIN * steps) return false;
  const isWhole = length >= NIBBLE && rounds > 0 && min <= 1 && max >= 2 ** length - 2;
  return every === 1 ? length >= RAMP_BITS_MIN : isWhole;
}

/** What counts in the bytes of tags and those so near them; held: [bytes] bits of the tags. */
function* countersNear(
  rows: PayloadRows,
  left: Uint8Array,
  tags: readonly Placement[],
  reach: number,
): Steps<{ readonly found: readonly CounterFinding[]; readonly held: Uint8Array }> {
  const beside = besideTags(tags, rows.bytes, reach);
  const near = leftBy(left, tags).map((bits, byte) => (beside[byte] === true ? bits : 0));
  const held = maskOf(rows.bytes, tags.flatMap(bitPositions));
  return { found: yield* findCounters(sampleRows(rows, COUNTER_ROWS, COUNTER_STRETCHES), near, held), held };
}

/** Those within a byte. left: [bytes] bits that move and that nothing else holds; tags: of the frame, or what changes like one. */
export function* rampsBeside(
  rows: PayloadRows,
  left: Uint8Array,
  tags: readonly Placement[],
  when: When,
): Steps<Explained<MapCounter>[]> {
  const { found } = yield* countersNear(rows, left, tags, 1);
  return found.filter((each) => !crossesByte(each) && isUnrounded(each)).map((each) => counterOf(each, when));
}

const WIDE_BYTES = 2;

const isWide = ({ length, every, step, lost, right, steps }: CounterFinding): boolean =>
  length > 8 && every === 1 && Math.abs(step) === 1 && right + lost >= RAMP_RIGHT_MIN * steps;

/** With the bits above that never moved. */
function overWholeBytes(counter: CounterFinding, tags: Uint8Array): CounterFinding {
  const whole = { ...counter, length: WIDE_BYTES * 8 };
  const isOpen = counter.lsb.bit === 0 && bitPositions(whole).every((at) => !hasBit(tags, at));
  return { ...(isOpen ? whole : counter), rounds: 0 };
}

/** Those of two bytes; the same. */
export function* wideCounters(
  rows: PayloadRows,
  left: Uint8Array,
  tags: readonly Placement[],
  when: When,
): Steps<Explained<MapCounter>[]> {
  if (tags.length === 0) return [];
  const near = besideTags(tags, rows.bytes);
  const { found, held } = yield* countersNear(rows, left, tags, WIDE_BYTES);
  return found
    .filter((each) => isWide(each) && bitPositions(each).some((at) => near[at >> 3]))
    .map((each) => counterOf(overWholeBytes(each, held), when));
}
