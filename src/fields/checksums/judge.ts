/**
 * Holds a rule that was fitted on some payloads against every frame, and says how sure it is and what of it the capture could not show. Only frames
 * that are independent of those before test a rule anew; what agrees of all frames is said beside.
 */
import type { Placement } from '../../frames/bits.ts';
import { rawReader } from '../../frames/bits.ts';
import { compileChecksum } from '../../map/checksum.ts';
import type { MapChecksum, MapCounter, When } from '../../map/schema.ts';
import type { PayloadRows } from '../payload-rows.ts';
import type { Explained } from '../types.ts';
import type { Attempt } from './attempt.ts';
import type { Evidence } from './evidence.ts';
import type { TagPlace } from './places.ts';
import { whyOfRule } from './words.ts';

interface Passed {
  readonly passed: number;
  readonly checked: number;
}

export interface Verified extends Passed {
  /** Of these, frames whose payload the rule was not fitted on. */
  readonly heldOut: Passed;
}

/** FNV-1a: two payloads that share it are both taken for fitted ones, which makes the held-out count too small and never too large. */
function hashOf(bytes: Uint8Array, from: number, to: number): number {
  let hash = 0x811c9dc5;
  for (let at = from; at < to; at++) hash = Math.imul(hash ^ (bytes[at] as number), 0x01000193);
  return hash;
}

/** Holds a checksum against every row. fitted: payloads that it was found on. */
export function verifyApart(
  checksum: MapChecksum,
  counters: readonly MapCounter[],
  rows: PayloadRows,
  fitted: readonly Uint8Array[],
): Verified {
  const compute = compileChecksum(checksum, { counters: [...counters] });
  const tally = { passed: 0, checked: 0 };
  const heldOut = { passed: 0, checked: 0 };
  if (!compute) return { ...tally, heldOut };
  const known = new Set(fitted.map((payload) => hashOf(payload, 0, payload.length)));
  const read = rawReader(checksum as Placement);
  for (let at = 0; at < rows.count * rows.bytes; at += rows.bytes) {
    const passed = Number(compute(rows.data, at, rows.bytes)) === read(rows.data, at);
    for (const each of known.has(hashOf(rows.data, at, at + rows.bytes)) ? [tally] : [tally, heldOut]) {
      each.checked++;
      if (passed) each.passed++;
    }
  }
  return { ...tally, heldOut };
}

/** Holds a checksum against every row. */
export function verify(checksum: MapChecksum, counters: readonly MapCounter[], rows: PayloadRows): Passed {
  const { passed, checked } = verifyApart(checksum, counters, rows, []);
  return { passed, checked };
}

/** A start-up filling or a broken frame may fail; a rule may not. */
const PASS_MIN = 0.985;
/** Of few frames held out a larger share may be broken ones. */
const HELD_OUT_MIN = 0.95;

/** Bytes of which a rule covers some bits. */
export const coveredBytes = ({ covers }: Pick<MapChecksum, 'covers'>): number[] =>
  (covers ?? []).map((each) => (typeof each === 'number' ? each : each.byte));

/** Payload bits that the rule may cover but that never moved: their part in it is not shown. */
function undeterminedBits(covers: readonly number[], evidence: Evidence, place: TagPlace): MapChecksum['undetermined'] {
  const found: { byte: number; bit: number }[] = [];
  for (const byte of covers) {
    for (let bit = 0; bit < 8; bit++) {
      const known = (evidence.moved[byte] as number) | (place.mask[byte] as number);
      if (((known >> bit) & 1) === 0) found.push({ byte, bit });
    }
  }
  return found;
}

/** Sure to the degree that independent differences agree; a choice left between rules halves it, or as likely as it is where the bus says so. */
function sureness(verified: Verified, tests: number, { rivals, lent }: Attempt): number {
  const share = verified.passed / verified.checked;
  const enough = lent ? 1 - 2 ** -lent.surplusBits - LENT_DOUBT : tests / (tests + 1);
  const alone = lent ? lent.share : rivals > 0 ? 0.5 : 1;
  return Math.round(100 * Math.min(0.99, share * enough) * alone) / 100;
}
/** That an identifier of the same bus keeps to another rule which comes to the same in what moved. */
const LENT_DOUBT = 0.04;

export interface Finished {
  readonly checksum: Explained<MapChecksum>;
  readonly passedShare: number;
}

/** Any rule that is settled goes before. */
const UNSETTLED = 0.5;

/** A tag of which several rules explain what moved, none likelier than the others. */
function unsettled({ place, rivals }: Attempt, tests: number, when: When): Finished {
  const { lsb, length, order } = place;
  const why =
    `A CRC, but ${rivals + 1} rules fit: only ${tests} payloads are independent of each other. ` +
    `A capture in which more bits move would settle it.`;
  const checksum = {
    lsb: { ...lsb },
    length,
    order,
    method: 'unsolved' as const,
    when,
    undetermined: [],
    confidence: 0.8,
    why,
  };
  return { checksum, passedShare: UNSETTLED };
}

/** The rule as the map has it, or null where it fails too often. counters, when: of the rows. */
export function finish(
  attempt: Attempt,
  evidence: Evidence,
  rows: PayloadRows,
  { counters, when }: { readonly counters: readonly MapCounter[]; readonly when: When },
): Finished | null {
  const { place, parameters } = attempt;
  if (parameters.method === 'unsolved') return unsettled(attempt, evidence.differences.length, when);
  const { lsb, length, order } = place;
  const rule: MapChecksum = {
    lsb: { ...lsb },
    length,
    order,
    ...parameters,
    when,
    undetermined: undeterminedBits(coveredBytes(parameters), evidence, place),
    confidence: 0.5,
  };
  const verified = verifyApart(rule, counters, rows, evidence.payloads);
  const { passed, checked, heldOut } = verified;
  if (passed < PASS_MIN * checked || heldOut.passed < HELD_OUT_MIN * heldOut.checked) return null;
  const tests = evidence.differences.length;
  const checksum = {
    ...rule,
    evidence: [
      {
        kind: 'guard',
        frames: checked,
        passed,
        heldOut: heldOut.checked,
        heldOutPassed: heldOut.passed,
        independent: tests,
      },
    ],
    confidence: sureness(verified, tests, attempt),
    why: whyOfRule(rule, verified, tests, attempt),
  };
  return { checksum, passedShare: verified.passed / verified.checked };
}
