/**
 * Where the number of a page may stand in the frames of a stream: as the map says, and else by a look at some of the frames: a byte, or the low or high bits of
 * one, by which frames part into pages that each hold still what differs between them.
 */
import type { Stream } from '../../frames/table.ts';
import { bitPositions, placementLength } from '../../frames/bits.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { PageIndex } from './cells.ts';

const LOOKED_AT = 768;
const PAGES_MOST = 64;
/** Bytes that must be still on pages and differ between them: less is no text, and a checksum behind a counter is one such byte. */
const TOLD_BYTES = 2;
/** A page that came once holds everything still. */
const TIMES_LEAST = 2;
const LOW = [0x01, 0x03, 0x07, 0x0f, 0x1f, 0x3f, 0x7f];
const HIGH = LOW.map((mask) => 255 & ~mask);
const HALVES = [0xff, 0x0f, 0xf0];

const masksOf = (byte: number): readonly number[] => (byte === 0 ? [0xff, ...LOW, ...HIGH] : HALVES);

/** Up to LOOKED_AT frames, in blocks of the beginning, middle and end: pages take turns, so a stride would miss some. */
function rowsToLookAt(count: number): readonly number[] {
  if (count <= LOOKED_AT) return Array.from({ length: count }, (_, row) => row);
  const block = LOOKED_AT / 3;
  return [0, Math.floor((count - block) / 2), count - block].flatMap((from) =>
    Array.from({ length: block }, (_, step) => from + step),
  );
}

interface Page {
  times: number;
  readonly and: Uint8Array;
  readonly or: Uint8Array;
}

/** The pages among some frames by one index; empty where they are too many. */
function pagesBy({ payload, stride }: Stream, rows: readonly number[], { byte, mask }: PageIndex): readonly Page[] {
  const pages = new Map<number, Page>();
  for (const row of rows) {
    const at = row * stride;
    const value = (payload[at + byte] as number) & mask;
    let page = pages.get(value);
    if (!page) {
      if (pages.size === PAGES_MOST) return [];
      pages.set(value, (page = { times: 0, and: new Uint8Array(stride).fill(255), or: new Uint8Array(stride) }));
    }
    page.times++;
    for (let each = 0; each < stride; each++) {
      page.and[each]! &= payload[at + each] as number;
      page.or[each]! |= payload[at + each] as number;
    }
  }
  return [...pages.values()];
}

/** Bytes that never moved on two pages or more that came again, and are not the same on all of these. */
function toldBy(stream: Stream, rows: readonly number[], index: PageIndex): number {
  const pages = pagesBy(stream, rows, index).filter(({ times }) => times >= TIMES_LEAST);
  let told = 0;
  for (let byte = 0; byte < stream.stride; byte++) {
    if (byte === index.byte) continue;
    const values = pages.filter(({ and, or }) => and[byte] === or[byte]).map(({ and }) => and[byte]);
    if (new Set(values).size > 1) told++;
  }
  return told;
}

/** [stride] bits that move over some frames. */
function movingOver({ payload, stride }: Stream, rows: readonly number[]): Uint8Array {
  const moving = new Uint8Array(stride);
  const first = (rows[0] ?? 0) * stride;
  for (const row of rows)
    for (let byte = 0; byte < stride; byte++)
      moving[byte]! |= (payload[row * stride + byte] as number) ^ (payload[first + byte] as number);
  return moving;
}

/** A selector of the map as bits of one byte; null where it lies over several. */
function inOneByte(selector: MapFrame['selectors'][number]): PageIndex | null {
  const places = bitPositions(selector);
  const byte = (places[0] as number) >> 3;
  if (placementLength(selector) > 8 || places.some((at) => at >> 3 !== byte)) return null;
  return { byte, mask: places.reduce((mask, at) => mask | (1 << (at & 7)), 0) };
}

export interface IndexPlace extends PageIndex {
  /** The map says that pages are numbered here; else it only looks so. */
  readonly isSaid: boolean;
}

/** Places worth reading pages by, those of the map first. frame: what the map says of the stream; null where it says nothing. */
export function indexPlaces(stream: Stream, frame: MapFrame | null): readonly IndexPlace[] {
  const said = (frame?.selectors ?? []).flatMap((selector) => inOneByte(selector) ?? []);
  const rows = rowsToLookAt(stream.count);
  const bytes = Array.from({ length: Math.min(8, stream.stride) }, (_, byte) => byte);
  const moving = movingOver(stream, rows);
  const seen = bytes.flatMap((byte) =>
    // Bits that never move part no frames: masks that differ by these are one.
    [...new Set(masksOf(byte).map((mask) => mask & (moving[byte] as number)))]
      .filter((mask) => mask > 0)
      .map((mask) => ({ byte, mask }))
      .filter((place) => toldBy(stream, rows, place) >= TOLD_BYTES),
  );
  const known = new Set(said.map(({ byte, mask }) => byte * 256 + mask));
  return [
    ...said.map((place) => ({ ...place, isSaid: true })),
    ...seen.filter(({ byte, mask }) => !known.has(byte * 256 + mask)).map((place) => ({ ...place, isSaid: false })),
  ];
}
