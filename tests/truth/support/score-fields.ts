/** Scores found fields and guards against the truth: exact observed spans, byte order, sign, counters, checksum places, selectors. */
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { findStream } from '../../../src/frames/table.ts';
import { verifyChecksum } from '../../../src/map/checksum.ts';
import type {
  MapChecksum,
  MapCounter,
  MapFrame,
  MapSelector,
  MapSignal,
  MapUnclaimed,
} from '../../../src/map/schema.ts';
import type { Vehicle } from '../../../src/demo/true-frame.ts';
import { keyOf, type ObservedSignal } from './observed.ts';

/** Structurally what the finders answer, and what a map's frame is. */
export interface FoundFrame {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly fields: readonly MapSignal[];
  readonly counters: readonly MapCounter[];
  readonly checksums: readonly MapChecksum[];
  readonly selectors: readonly MapSelector[];
  readonly unclaimed: readonly MapUnclaimed[];
}

export interface Tally {
  right: number;
  /** Claimed and not so. */
  wrong: number;
  /** True and not claimed. */
  missed: number;
}

export const emptyTally = (): Tally => ({ right: 0, wrong: 0, missed: 0 });
/** Harmonic mean of precision and recall. */
export const f1Of = ({ right, wrong, missed }: Tally): number => (2 * right) / (2 * right + wrong + missed);

const sameBits = (a: readonly number[], b: readonly number[]): boolean =>
  a.length === b.length && a.every((at) => b.includes(at));

/** Whether a found field names exactly the bits of a signal that moved; bits around them that never moved are not held against it. */
export function isExact(found: Placement, truth: ObservedSignal, allMoved: ReadonlySet<number>): boolean {
  const claimed = bitPositions(found).filter((at) => allMoved.has(at));
  return sameBits(claimed, truth.moved) || (truth.movedValid.length > 0 && sameBits(claimed, truth.movedValid));
}

const pageOf = ({ signal }: ObservedSignal): number | null => signal.when?.['page']?.[0] ?? null;

/** Bits that moved while a signal's page was on. */
function movedBeside(signal: ObservedSignal, signals: readonly ObservedSignal[]): ReadonlySet<number> {
  const page = pageOf(signal);
  const together = signals.filter((each) => page === null || pageOf(each) === null || pageOf(each) === page);
  return new Set(together.flatMap(({ moved }) => moved));
}

/** Whether a found field holds bits that moved on a page that it speaks of. */
function moves(field: MapSignal, signals: readonly ObservedSignal[]): boolean {
  const bits = bitPositions(field);
  const pages = field.when ? Object.values(field.when).flat() : null;
  return signals.some((signal) => {
    const page = pageOf(signal);
    const meets = page === null || pages === null || pages.includes(page);
    return meets && signal.moved.some((at) => bits.includes(at));
  });
}

function byFrame(observed: readonly ObservedSignal[]): Map<string, ObservedSignal[]> {
  const groups = new Map<string, ObservedSignal[]>();
  for (const each of observed) groups.set(keyOf(each), [...(groups.get(keyOf(each)) ?? []), each]);
  return groups;
}

const samePage = (found: MapSignal, truth: ObservedSignal): boolean => {
  if (truth.signal.when === null) return true;
  if (found.when === null || found.when === undefined) return false;
  const wanted = truth.signal.when['page'] ?? [];
  return Object.values(found.when).some((values) => wanted.every((value) => values.includes(value)));
};

export interface FieldScore {
  readonly spans: Tally;
  /** Exact spans over fields in one byte, and over those that cross a byte in either true order. */
  readonly withinByte: Tally;
  readonly little: Tally;
  readonly big: Tally;
  /** Outside pages and on pages: one frame of many pages can outweigh a whole vehicle in `spans`. */
  readonly plain: Tally;
  readonly paged: Tally;
  /** Of the exact fields that cross a byte: the order. Of the exact signed ones that went negative: the sign. */
  readonly order: Tally;
  readonly sign: Tally;
  /** [exact fields and wrong ones] confidence and whether right, for calibration. */
  readonly confidences: readonly { readonly confidence: number; readonly right: boolean }[];
}

/** Every signal that moved wants one exact field; every field that moved and is exact for none counts against. */
export function scoreFields(found: readonly FoundFrame[], observed: readonly ObservedSignal[]): FieldScore {
  const score = {
    spans: emptyTally(),
    withinByte: emptyTally(),
    little: emptyTally(),
    big: emptyTally(),
    plain: emptyTally(),
    paged: emptyTally(),
    order: emptyTally(),
    sign: emptyTally(),
  };
  const confidences: { confidence: number; right: boolean }[] = [];
  const foundByKey = new Map(found.map((frame) => [keyOf(frame), frame.fields]));
  for (const [key, signals] of byFrame(observed)) {
    const fields = foundByKey.get(key) ?? [];
    const used = new Set<MapSignal>();
    for (const signal of signals) {
      if (signal.moved.length === 0) continue;
      const beside = movedBeside(signal, signals);
      const match = fields.find(
        (field) => !used.has(field) && samePage(field, signal) && isExact(field, signal, beside),
      );
      if (match) used.add(match);
      for (const part of partsOf(score, signal)) part[match ? 'right' : 'missed']++;
      if (match) scoreReading(score, match, signal);
    }
    for (const field of fields) {
      const right = used.has(field);
      const claims = right || moves(field, signals);
      if (claims && !right) for (const part of [score.spans, field.when ? score.paged : score.plain]) part.wrong++;
      if (claims) confidences.push({ confidence: field.confidence, right });
    }
  }
  return { ...score, confidences };
}

type Parts = Omit<FieldScore, 'confidences'>;

function partsOf(score: Parts, { crossesByte, signal }: ObservedSignal): Tally[] {
  const place = !crossesByte ? score.withinByte : signal.order === 'little' ? score.little : score.big;
  return [score.spans, place, signal.when === null ? score.plain : score.paged];
}

function scoreReading(score: Parts, found: MapSignal, { crossesByte, signal, wentNegative }: ObservedSignal): void {
  if (crossesByte) score.order[found.order === signal.order ? 'right' : 'wrong']++;
  if (wentNegative && signal.coding !== 'float') score.sign[found.coding === signal.coding ? 'right' : 'wrong']++;
}

const samePlace = (a: Placement, b: Placement): boolean => sameBits(bitPositions(a), bitPositions(b));

type Guard = 'counters' | 'selectors';

function trueFrames(vehicle: Vehicle, table: FrameTable): MapFrame[] {
  return vehicle.frames
    .filter(({ diagnostic }) => diagnostic === null)
    .filter(
      ({ id, extended, map }) => findStream(table, { bus: map.bus, id, extended, direction: 'received' }) !== undefined,
    )
    .map(({ map }) => map);
}

/** Counters right in place, step and modulus; selectors right in place. */
export function scoreGuards(kind: Guard, found: readonly FoundFrame[], vehicle: Vehicle, table: FrameTable): Tally {
  const tally = emptyTally();
  const foundByKey = new Map(found.map((frame) => [keyOf(frame), frame]));
  for (const truth of trueFrames(vehicle, table)) {
    const claimed: readonly (MapCounter | MapSelector)[] = foundByKey.get(keyOf(truth))?.[kind] ?? [];
    const right = truth[kind].filter((each) =>
      claimed.some((claim) => samePlace(claim, each) && sameRule(claim, each)),
    );
    tally.right += right.length;
    tally.missed += truth[kind].length - right.length;
    tally.wrong += claimed.length - right.length;
  }
  return tally;
}

function sameRule(a: MapCounter | MapSelector, b: MapCounter | MapSelector): boolean {
  if (!('step' in a) || !('step' in b)) return true;
  const [one, other] = [a as MapCounter, b as MapCounter];
  return one.step === other.step && one.min === other.min && one.max === other.max && one.every === other.every;
}

export interface ChecksumScore {
  readonly place: Tally;
  /** Of the frames with a rule of a known family: those whose found rule holds in 0.999 of another drive's frames. */
  readonly verifies: Tally;
  /** Keyed tags called "mac", and others without a rule called "unsolved". */
  readonly keyed: Tally;
  readonly unsolved: Tally;
}

const HOLDS = 0.999;

/** `other`: a table of another drive of the same vehicle. */
export function scoreChecksums(
  found: readonly FoundFrame[],
  vehicle: Vehicle,
  table: FrameTable,
  other: FrameTable,
): ChecksumScore {
  const score = { place: emptyTally(), verifies: emptyTally(), keyed: emptyTally(), unsolved: emptyTally() };
  const foundByKey = new Map(found.map((frame) => [keyOf(frame), frame]));
  for (const truth of trueFrames(vehicle, table)) {
    const frame = foundByKey.get(keyOf(truth));
    const claimed = frame?.checksums ?? [];
    for (const checksum of truth.checksums) {
      const claim = claimed.find((each) => samePlace(each, checksum));
      score.place[claim ? 'right' : 'missed']++;
      scoreRule(score, checksum, claim, frame, truth, other);
    }
    score.place.wrong += claimed.filter((claim) => !truth.checksums.some((each) => samePlace(each, claim))).length;
  }
  return score;
}

function scoreRule(
  score: ChecksumScore,
  truth: MapChecksum,
  claim: MapChecksum | undefined,
  frame: FoundFrame | undefined,
  map: MapFrame,
  other: FrameTable,
): void {
  const named = truth.method === 'mac' ? score.keyed : truth.method === 'unsolved' ? score.unsolved : null;
  if (named) {
    named[claim?.method === truth.method ? 'right' : 'missed']++;
    return;
  }
  const stream = findStream(other, { bus: map.bus, id: Number(map.id), extended: map.extended, direction: 'received' });
  if (!stream) return;
  const verified =
    claim && frame
      ? verifyChecksum(claim, { ...map, counters: [...frame.counters], selectors: [...frame.selectors] }, stream)
      : null;
  const holds = verified !== null && verified.checked > 0 && verified.passed >= HOLDS * verified.checked;
  score.verifies[holds ? 'right' : 'missed']++;
}

/** Fields that finders claimed in bytes of noise or ciphertext. */
export function claimsInNoise(found: readonly FoundFrame[], vehicle: Vehicle): number {
  const foundByKey = new Map(found.map((frame) => [keyOf(frame), frame.fields]));
  return vehicle.frames.reduce((sum, { map }) => {
    const noisy = new Set(
      map.unclaimed
        .filter(({ reason }) => reason === 'noise' || reason === 'cipher')
        .flatMap((piece) => bitPositions(piece)),
    );
    const fields = foundByKey.get(keyOf(map)) ?? [];
    return sum + fields.filter((field) => bitPositions(field).some((at) => noisy.has(at))).length;
  }, 0);
}
