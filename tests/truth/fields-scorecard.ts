/** Counts of right, wrong and missed findings of one drive against the simulated vehicle's true map. */
import { verify } from '../../src/fields/checksums/find.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import type { FrameFindings } from '../../src/fields/types.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { rawReader } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import type { MapCounter, MapFrame, MapSignal } from '../../src/map/schema.ts';
import { observedSpan, placeKey, type TrueField } from '../fields/support/streams.ts';
import type { TrueDrive } from '../fields/support/vehicle-streams.ts';
import { flipRateSpans } from './fields-baseline.ts';

export interface Tally {
  right: number;
  wrong: number;
  missed: number;
}
export const newTally = (): Tally => ({ right: 0, wrong: 0, missed: 0 });
export const precision = ({ right, wrong }: Tally): number => right / (right + wrong);
export const recall = ({ right, missed }: Tally): number => right / (right + missed);
export const f1 = ({ right, wrong, missed }: Tally): number => (2 * right) / (2 * right + wrong + missed);

export interface Scorecard {
  /** Exact observed spans, in frames without and with pages, and the published rule on the former. */
  readonly plain: Tally;
  readonly paged: Tally;
  readonly baseline: Tally;
  readonly counters: Tally;
  readonly checksums: Tally;
  readonly selectors: Tally;
  /** Of spans over several bytes found with the right bits in either order; of signed fields that went negative. */
  readonly order: Tally;
  readonly sign: Tally;
  /** Rules found: frames of another drive that pass. */
  readonly otherDrive: { passed: number; checked: number };
  /** Confidence and whether the field was right. */
  readonly claims: { confidence: number; right: boolean; onPage: boolean }[];
}

export const newScorecard = (): Scorecard => ({
  plain: newTally(),
  paged: newTally(),
  baseline: newTally(),
  counters: newTally(),
  checksums: newTally(),
  selectors: newTally(),
  order: newTally(),
  sign: newTally(),
  otherDrive: { passed: 0, checked: 0 },
  claims: [],
});

const asField = (placement: Placement): TrueField => ({ ...placement, coding: 'unsigned', kind: 'number' });

/** The rows on which a signal is there. */
function ownRows(signal: MapSignal, frame: MapFrame, stream: Stream): Stream {
  if (!signal.when) return stream;
  const conditions = Object.entries(signal.when).map(([name, values]) => {
    const selector = frame.selectors.find((each) => each.name === name) as unknown as Placement;
    return { read: rawReader(selector), values };
  });
  const rows: number[] = [];
  for (let row = 0; row < stream.count; row++) {
    if (conditions.every(({ read, values }) => values.includes(read(stream.payload, row * stream.stride))))
      rows.push(row);
  }
  const payload = new Uint8Array(rows.length * stream.stride);
  rows.forEach((row, to) =>
    payload.set(stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride), to * stream.stride),
  );
  return { ...stream, count: rows.length, payload };
}

const pageOf = (when: MapSignal['when']): string => (when ? JSON.stringify(Object.values(when)) : '');

/** What can be seen of the true signals, by place and page. */
function visibleSignals(frame: MapFrame, stream: Stream): Map<string, MapSignal> {
  const visible = new Map<string, MapSignal>();
  for (const signal of frame.signals) {
    if (signal.kind === 'text') continue;
    const rows = ownRows(signal, frame, stream);
    const seen = rows.count > 1 ? observedSpan(asField(signal as unknown as Placement), rows) : null;
    if (seen) visible.set(placeKey(seen) + pageOf(signal.when), signal);
  }
  return visible;
}

function compare(found: Iterable<string>, truth: Iterable<string>, tally: Tally): void {
  const wanted = new Set(truth);
  const claimed = new Set(found);
  for (const key of claimed) if (wanted.has(key)) tally.right++;
  for (const key of claimed) if (!wanted.has(key)) tally.wrong++;
  for (const key of wanted) if (!claimed.has(key)) tally.missed++;
}

const keysOf = (placements: readonly object[], stream: Stream): string[] =>
  placements.flatMap((each) => {
    const seen = observedSpan(asField(each as Placement), stream);
    return seen ? [placeKey(seen)] : [];
  });

const isSolvable = ({ method }: { method: string }): boolean => method !== 'mac' && method !== 'unsolved';

function scoreSigns(findings: FrameFindings, visible: Map<string, MapSignal>, stream: Stream, card: Scorecard): void {
  for (const field of findings.fields) {
    const truth = visible.get(placeKey(field as Placement) + pageOf(field.when));
    if (truth?.coding !== 'signed' || truth.when) continue;
    const read = rawReader(truth as unknown as Placement);
    let negative = false;
    for (let row = 0; row < stream.count && !negative; row++)
      negative = read(stream.payload, row * stream.stride) >= 2 ** (truth.length - 1);
    if (negative) card.sign[field.coding === 'signed' ? 'right' : 'wrong']++;
  }
}

function scoreOrders(findings: FrameFindings, visible: Map<string, MapSignal>, card: Scorecard): void {
  for (const field of findings.fields) {
    if (field.lsb.bit + field.length <= 8) continue;
    if (visible.has(placeKey(field as Placement) + pageOf(field.when))) card.order.right++;
  }
  for (const [key] of visible) {
    if (!/(little|big)/.test(key)) continue;
    const bytes = key.replace(/little|big/, '');
    const swapped = findings.fields.some(
      (f) => `${f.lsb.byte}.${f.lsb.bit}+${f.length}${pageOf(f.when)}` === bytes && !key.includes(f.order),
    );
    if (swapped) card.order.wrong++;
  }
}

/** Adds one drive's findings to the card. again: the same vehicle's streams on another drive. */
export function scoreDrive(drive: TrueDrive, findings: readonly FrameFindings[], card: Scorecard): void {
  const again = new Map(drive.again().map(({ truth, stream }) => [truth, stream]));
  drive.streams.forEach(({ truth, stream }, index) => {
    const found = findings[index] as FrameFindings;
    const frame = truth.map;
    const visible = visibleSignals(frame, stream);
    const claims = found.fields.map((field) => placeKey(field as Placement) + pageOf(field.when));
    compare(claims, visible.keys(), truth.pages.length > 0 ? card.paged : card.plain);
    found.fields.forEach((field, at) =>
      card.claims.push({
        confidence: field.confidence,
        right: visible.has(claims[at] as string),
        onPage: field.when !== null,
      }),
    );
    if (truth.pages.length === 0) compare(flipRateSpans(stream).map(placeKey), visible.keys(), card.baseline);
    compare(keysOf(found.counters, stream), keysOf(frame.counters, stream), card.counters);
    compare(keysOf(found.selectors, stream), keysOf(frame.selectors, stream), card.selectors);
    const rules = found.checksums.filter(isSolvable);
    compare(keysOf(rules, stream), keysOf(frame.checksums.filter(isSolvable), stream), card.checksums);
    scoreSigns(found, visible, stream, card);
    scoreOrders(found, visible, card);
    const other = again.get(truth);
    if (!other) return;
    for (const rule of rules) {
      const { passed, checked } = verify(rule, found.counters as readonly MapCounter[], rowsOfStream(other));
      card.otherDrive.passed += passed;
      card.otherDrive.checked += checked;
    }
  });
}
