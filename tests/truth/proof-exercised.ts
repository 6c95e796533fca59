/** Which items of a map a capture tests, by plain counting of its own: nothing here asks the proof. */
import { findStream, lengthAt, type FrameTable, type Stream } from '../../src/frames/table.ts';
import { compileFrame, compileGuard, type CompiledGuard } from '../../src/map/decode.ts';
import { idNumber } from '../../src/map/identifiers.ts';
import type { MapCounter, MapFrame, MapSignal } from '../../src/map/schema.ts';

/** A value that changed less often tells nothing about where it lies. */
export const CHANGES_TOLD = 8;
const INTERVALS_TOLD = 20;
/** Of what is sent on a change. */
const FRAMES_TOLD = 10;
const PAYLOADS_TOLD = 8;

export const streamOf = (table: FrameTable, { bus, id, extended }: MapFrame): Stream | undefined =>
  findStream(table, { bus, id: idNumber(id), extended, direction: 'received' }) ?? undefined;

interface Present {
  readonly present: (payload: Uint8Array, offset: number, length: number) => boolean;
  readonly raw: (payload: Uint8Array, offset: number) => number | bigint;
}

export function rawsOf(own: Present, stream: Stream): (number | bigint)[] {
  const raws: (number | bigint)[] = [];
  for (let row = 0; row < stream.count; row++) {
    const at = row * stream.stride;
    if (own.present(stream.payload, at, lengthAt(stream, row))) raws.push(own.raw(stream.payload, at));
  }
  return raws;
}

const changesIn = (raws: readonly (number | bigint)[]): number =>
  raws.reduce<number>((sum, raw, i) => sum + (i > 0 && raw !== raws[i - 1] ? 1 : 0), 0);

function payloadsIn(stream: Stream): number {
  const seen = new Set<string>();
  for (let row = 0; row < stream.count && seen.size < PAYLOADS_TOLD; row++)
    seen.add(stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride).join());
  return seen.size;
}

function counterTold(guard: CompiledGuard<MapCounter>, stream: Stream): boolean {
  const { min, max, step, every } = guard.rule;
  const raws = rawsOf(guard, stream);
  const modulus = max - min + 1;
  const turn = (modulus / Math.abs(step)) * every;
  return raws.length > INTERVALS_TOLD && (modulus > 256 ? changesIn(raws) > INTERVALS_TOLD : raws.length > 2.5 * turn);
}

function signalTold(signal: MapSignal, raws: readonly (number | bigint)[]): boolean {
  if (raws.length < INTERVALS_TOLD) return false;
  if (signal.kind === 'number') return changesIn(raws) >= CHANGES_TOLD && new Set(raws).size > 2;
  return new Set(raws).size > 1;
}

/** The items that this capture tests, as `item name` of one frame. */
export function exercised(frame: MapFrame, table: FrameTable): Set<string> {
  const stream = streamOf(table, frame);
  const told = new Set<string>();
  if (!stream) return told;
  told.add(`presence ${frame.name}`).add(`length ${frame.name}`);
  const { kind, periodMs } = frame.timing;
  if ((kind === 'periodic' || kind === 'mixed') && periodMs !== null && stream.count > INTERVALS_TOLD)
    told.add(`timing ${frame.name}`);
  if (kind === 'on-change' && stream.count > FRAMES_TOLD) told.add(`timing ${frame.name}`);
  const compiled = compileFrame(frame);
  for (const counter of compiled.counters) if (counterTold(counter, stream)) told.add(`counter ${counter.rule.name}`);
  for (const checksum of frame.checksums) {
    const { method, lsb, length } = checksum;
    const isSecret = method === 'mac' || method === 'unsolved';
    const rows = rawsOf(compileGuard(checksum, frame.selectors), stream).length;
    if (!isSecret && rows > INTERVALS_TOLD && payloadsIn(stream) >= PAYLOADS_TOLD)
      told.add(`checksum ${method} at byte ${lsb.byte} bit ${lsb.bit}, ${length} bits`);
  }
  for (const selector of compiled.selectors) {
    const raws = rawsOf(selector, stream);
    if (raws.length >= INTERVALS_TOLD && new Set(raws).size > 1) told.add(`selector ${selector.rule.name}`);
  }
  for (const own of compiled.signals) {
    const raws = rawsOf(own, stream).filter((raw) => own.invalidOf(raw) === null);
    if (signalTold(own.signal, raws)) told.add(`signal ${own.signal.name}`);
  }
  return told;
}
