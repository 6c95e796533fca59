/**
 * How far a value might go on into bits that never moved. What a capture shows of a value is its observed span: a speed that stayed below
 * half of its range leaves its top bit still. Still bits above and below that nothing else holds are room that the value may own; a value
 * that went through zero has none above: its sign is its top bit, and moved.
 */
import { bitPositions, nextBit, crossesByte, type ByteOrder, type Placement } from '../frames/bits.ts';
import { canCoincide, compileWhen } from '../map/pages.ts';
import type { MapSelector, MapSignal, When } from '../map/schema.ts';
import { claim, hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { FieldFinding, FrameFindings } from './types.ts';

type Room = NonNullable<MapSignal['mayExtend']>;
type Found = Pick<FrameFindings, 'counters' | 'checksums' | 'selectors' | 'fields'>;

/** [bytes] bits that are the same in all frames in which `when` holds. */
function stillOn({ bytes, data, count }: PayloadRows, when: When, selectors: readonly MapSelector[]): Uint8Array {
  const isOn = compileWhen(when, selectors);
  const moved = new Uint8Array(bytes);
  let first = -1;
  for (let at = 0; at < count * bytes; at += bytes) {
    if (!isOn(data, at, bytes)) continue;
    if (first < 0) first = at;
    for (let byte = 0; byte < bytes; byte++)
      moved[byte]! |= (data[at + byte] as number) ^ (data[first + byte] as number);
  }
  return moved.map((bits) => ~bits & 0xff);
}

/** [bytes] still bits that nothing holds while the condition does. */
function roomOn(rows: PayloadRows, when: When, found: Found): Uint8Array {
  const room = stillOn(rows, when, found.selectors);
  const parts = [...found.counters, ...found.checksums, ...found.selectors, ...found.fields];
  for (const part of parts) if (canCoincide(part.when ?? null, when)) claim(room, part as Placement);
  return room;
}

/** The order of the values around it, for a value that lies in one byte; null where they disagree or there are none. */
function orderAround(fields: readonly FieldFinding[]): ByteOrder | null {
  const orders = new Set(fields.filter(crossesByte).map(({ order }) => order));
  return orders.size === 1 ? ([...orders][0] as ByteOrder) : null;
}

/** The next bit up (1) or down (-1); null at the end of the byte where the order is not known. */
function beside(at: number, way: 1 | -1, order: ByteOrder | null): number | null {
  const isLast = (at & 7) === (way > 0 ? 7 : 0);
  return isLast && order === null ? null : nextBit(at, way, order ?? 'little');
}

/** No value is wider than this. */
const VALUE_BITS_MAX = 64;

function run(room: Uint8Array, from: number, way: 1 | -1, order: ByteOrder | null): number {
  let bits = 0;
  for (let at = beside(from, way, order); at !== null && hasBit(room, at); at = beside(at, way, order)) bits++;
  return bits;
}

function roomOf(field: FieldFinding, room: Uint8Array, order: ByteOrder | null): Room {
  const own = crossesByte(field) ? field.order : order;
  const positions = bitPositions(field);
  const most = VALUE_BITS_MAX - field.length;
  const crossedZero = field.coding === 'signed' || field.coding === 'sign-magnitude';
  const above = crossedZero ? 0 : run(room, positions.at(-1) as number, 1, own);
  return { above: Math.min(most, above), below: Math.min(most, run(room, positions[0] as number, -1, own)) };
}

const bitsWords = (bits: number, where: string): string => `${bits === 1 ? 'one bit' : `${bits} bits`} ${where}`;

function roomWords({ above, below }: Room): string {
  const parts = [...(above ? [bitsWords(above, 'above')] : []), ...(below ? [bitsWords(below, 'below')] : [])];
  return parts.length ? ` It may go on into ${parts.join(' and ')} that never moved.` : '';
}

/** The fields with the room beside each, those that a person placed as they are. rows: all frames. O(rows) for each condition. */
export function withRoom(rows: PayloadRows, found: Found): FieldFinding[] {
  const rooms = new Map<string, Uint8Array>();
  const order = orderAround(found.fields);
  return found.fields.map((field) => {
    if (field.confidence === 1 || field.coding === 'float') return field;
    const key = JSON.stringify(field.when);
    const room = rooms.get(key) ?? roomOn(rows, field.when, found);
    rooms.set(key, room);
    const mayExtend = roomOf(field, room, order);
    return { ...field, mayExtend, why: field.why + roomWords(mayExtend) };
  });
}
