/** The third maker itself: its division against published values, its truth against its own traffic, its tags against a second reading. */
import { describe, expect, it } from 'vitest';
import { bitPositions, codedValue, rawReader } from '../../../src/frames/bits.ts';
import type { Stream } from '../../../src/frames/table.ts';
import { Sight, type KnownStream } from '../fields-truth.ts';
import { addAround, addBytes, addNibbles, divide, xorBytes } from '../otherwise/payload/slow-checks.ts';
import { shiftThrough } from './guard-work.ts';
import type { CounterPlan, GuardPlan, Layout } from './layout.ts';
import { drawLayouts, runDrive, strangerDrive, type StrangerCondition } from './make-stranger.ts';
import { QUANTITIES } from './quantities.ts';
import type { Source } from './sources.ts';
import { makeWorld, STEPS_A_SECOND, type World } from './world.ts';

const DIGITS = [...'123456789'].map((digit) => digit.charCodeAt(0));
const SECONDS = 10;

const payloadAt = ({ payload, stride }: Stream, row: number): Uint8Array =>
  payload.subarray(row * stride, (row + 1) * stride);

describe('the shift register', () => {
  // Check values of the CRC of "123456789": SAE J1850, AUTOSAR SWS CRC (8H2F), ITU-T V.41 and Modbus as commonly listed; from memory.
  it.each([
    [8, 0x1d, 0xff, 0xff, false, 0x4b],
    [8, 0x2f, 0xff, 0xff, false, 0xdf],
    [8, 0x31, 0, 0, true, 0xa1],
    [16, 0x1021, 0xffff, 0, false, 0x29b1],
    [16, 0x8005, 0xffff, 0, true, 0x4b37],
    [32, 0x04c11db7, 0xffffffff, 0xffffffff, true, 0xcbf43926],
  ])('of %i bits divides by %i', (width, poly, init, xorout, reflected, expected) => {
    expect(shiftThrough({ poly, init, xorout, reflected }, width, DIGITS)).toBe(expected);
  });
});

/** The tag of a rule by arithmetic that shares no code with the maker's; null where no rule makes it. */
function secondReading(guard: GuardPlan, payload: Uint8Array, counter: number): number | null {
  const { kind, place, covers, prefix, suffix, table, rule } = guard;
  const blank = payload.slice();
  for (const bit of bitPositions(place)) blank[bit >> 3]! &= ~(1 << (bit & 7));
  const message = [...prefix, ...covers.map((byte) => blank[byte]!), ...suffix, ...(table ? [table[counter]!] : [])];
  if (kind.startsWith('crc')) return divide({ ...rule, width: place.length }, message);
  if (kind === 'xor8') return xorBytes(message, rule.xorout);
  if (kind === 'xor4') return message.reduce((all, byte) => all ^ (byte >> 4) ^ (byte & 15), rule.xorout);
  if (kind === 'sum8') return addBytes(message, rule.init);
  if (kind === 'sum8id' || kind === 'sum8len') return addBytes(message, 0);
  if (kind === 'sum8not') return 255 - addBytes(message, rule.init);
  if (kind === 'sum8carry') return addAround([rule.init, ...message]);
  return kind === 'sum4' || kind === 'sum4id' ? addNibbles(message, 0) : null;
}

/** What the field's bits can show of a number at the least and at the most: beyond, it stays there. */
function ends({ quantity, coding, width, perRaw, offset }: Source): [number, number] {
  if (QUANTITIES[quantity].sort !== 'number' || coding === 'float') return [-Infinity, Infinity];
  if (coding === 'unsigned') return [offset, offset + (2 ** width - 2) * perRaw];
  const most = (2 ** (width - 1) - 1) * perRaw;
  return [-most, most];
}

/** Least and most that the source may have measured when the frame was made, in its unit. */
function bounds(source: Source, world: World, timeS: number, jitterS: number): [number, number] {
  const { quantity, lagMs, holdMs, gain, shift, noise, band, perRaw, coding, offset, width } = source;
  const column = world[quantity];
  const stepAt = (at: number): number => Math.max(0, Math.min(column.length - 1, Math.round(at * STEPS_A_SECOND)));
  const longest = timeS - jitterS - (lagMs + holdMs) / 1000 - 0.6;
  const seen = [...column.slice(stepAt(longest), stepAt(timeS - lagMs / 1000) + 2)];
  const [lowest, highest] = ends(source);
  const values = seen
    .map((value) => (value === 0 && QUANTITIES[quantity].low === 0 ? 0 : value * gain + shift))
    .map((value) => Math.max(lowest, Math.min(highest, value)));
  const margin = 7 * noise + band + (coding === 'float' ? 1e-3 : perRaw);
  const [low, high] = [Math.min(...values) - margin, Math.max(...values) + margin];
  if (coding !== 'unsigned' || QUANTITIES[quantity].sort !== 'number') return [low, high];
  // What lies beyond the field's range is shown at its end.
  const end = offset + (2 ** width - 3) * perRaw;
  return [Math.min(low, end), Math.max(high, offset + perRaw)];
}

/** Share of its frames on which a field shows what went on, and how many there are. */
function agreement({ frame, stream }: KnownStream, layout: Layout, item: number, world: World): [number, number] {
  const { content, place } = layout.items[item]!;
  if (content.from !== 'world') return [0, 0];
  const { source } = content;
  const field = frame.fields.find((each) => each.place === place)!;
  const read = rawReader(place);
  const { rows } = new Sight(stream).rowsOf(field.on);
  let agreed = 0;
  let checked = 0;
  for (const row of rows) {
    const timeS = stream.timeUs[row]! / 1e6;
    if (timeS < source.startFillS + source.holdMs / 1000 + 0.6) continue;
    const coded = codedValue(read(payloadAt(stream, row), 0), field.coding, place.length);
    const [low, high] = bounds(source, world, timeS, (layout.jitter * layout.periodMs) / 1000);
    const wraps = QUANTITIES[source.quantity].sort === 'exact' && high / source.perRaw >= 2 ** source.width;
    if (wraps) continue;
    const value = source.coding === 'float' ? coded : coded * source.perRaw + source.offset;
    checked++;
    if (value >= low && value <= high) agreed++;
  }
  return [agreed, checked];
}

/** Rows at which a counter does otherwise than its plan says; no frame may be lost. */
function miscounted(stream: Stream, { place, step, min, max, every, onChange }: CounterPlan): number[] {
  const read = rawReader(place);
  const values = Array.from({ length: stream.count }, (_, row) => read(payloadAt(stream, row), 0));
  const modulus = max - min + 1;
  return values.flatMap((value, row) => {
    if (value < min || value > max) return [row];
    if (row === 0) return [];
    const before = values[row - 1] as number;
    const next = min + ((((before - min + step) % modulus) + modulus) % modulus);
    if (onChange) return value === before || value === next ? [] : [row];
    return value === (row % every === 0 ? next : before) ? [] : [row];
  });
}

const CASES: [StrangerCondition, number][] = [
  ['plain', 1],
  ['guarded', 2],
  ['paged', 3],
  ['extended', 4],
  ['fd', 5],
  ['fd', 6],
  ['standing', 7],
];

describe.each(CASES)('a stranger, %s %i', (condition, seed) => {
  const layouts = drawLayouts(condition, seed);
  const circumstance = condition === 'standing' ? 'standing' : 'driving';
  const world = makeWorld(`test ${seed}`, circumstance, SECONDS);
  const streams = runDrive(layouts, { seed: `test ${seed}`, circumstance, seconds: SECONDS, loss: 0 });

  it('gives no bit to two things of one frame, and moves nothing that the truth does not know', () => {
    for (const { frame, stream } of streams) {
      const sight = new Sight(stream);
      const whole = [...frame.fields, ...frame.selectors, ...frame.counters, ...frame.checksums];
      const apart = [...whole, ...frame.cipher.map((place) => ({ place, on: [] }))];
      const known = apart.map(({ place, on }) => ({ bits: bitPositions(place), rows: new Set(sight.rowsOf(on).rows) }));
      const all = new Set(known.flatMap(({ bits }) => bits));
      for (let row = 0; row < Math.min(60, stream.count); row++) {
        const bits = known.filter(({ rows }) => rows.has(row)).flatMap((each) => each.bits);
        expect(new Set(bits).size).toBe(bits.length);
        expect(Math.max(...bits, 0)).toBeLessThan(stream.length * 8);
      }
      const { moved } = sight.rowsOf([]);
      for (let at = 0; at < stream.length * 8; at++)
        if (((moved[at >> 3]! >> (at & 7)) & 1) === 1) expect(all.has(at)).toBe(true);
    }
  });

  it('shows in each field what goes on in the vehicle', () => {
    let fields = 0;
    layouts.forEach((layout, index) =>
      layout.items.forEach((item, at) => {
        const [agreed, checked] = agreement(streams[index]!, layout, at, world);
        const text = `${layout.id} ${JSON.stringify(item)}`;
        if (checked > 0) fields++;
        expect(agreed, text).toBe(checked);
      }),
    );
    expect(fields).toBeGreaterThan(30);
  });

  it('counts as its counters say', () => {
    const counters = layouts.flatMap((layout, index) => layout.counters.map((plan) => ({ layout, plan, index })));
    expect(counters.length).toBeGreaterThan(0);
    for (const { layout, plan, index } of counters)
      expect(miscounted(streams[index]!.stream, plan), String(layout.id)).toEqual([]);
  });

  it('closes each frame with the tag that its rule gives, read a second way', () => {
    let rules = 0;
    layouts.forEach((layout, index) => {
      const { stream } = streams[index]!;
      for (const guard of layout.guards) {
        const read = rawReader(guard.place);
        const counter = layout.counters[0] && rawReader(layout.counters[0].place);
        const payloads = Array.from({ length: stream.count }, (_, row) => payloadAt(stream, row));
        const wrong = payloads.filter((payload) => {
          const expected = secondReading(guard, payload, counter ? counter(payload, 0) : 0);
          if (expected !== null) rules++;
          return expected !== null && expected !== read(payload, 0);
        });
        expect(wrong.length, `${layout.id} ${guard.kind}`).toBe(0);
      }
    });
    expect(rules).toBeGreaterThan(0);
  });
});

describe('two drives of a stranger', () => {
  const drive = strangerDrive('short', 11);
  it('are the same to the bit each time, the other one of the same identifiers with other content', () => {
    const same = strangerDrive('short', 11);
    const again = drive.again();
    drive.streams.forEach(({ stream, frame }, index) => {
      expect(same.streams[index]!.stream.payload).toEqual(stream.payload);
      expect(again[index]!.stream.id).toBe(stream.id);
      expect(again[index]!.frame).toEqual(frame);
    });
    expect(again.map(({ stream }) => stream.payload)).not.toEqual(drive.streams.map(({ stream }) => stream.payload));
  });

  it('does not go anywhere while it stands', () => {
    const { speed, torque, pedal } = makeWorld('stands', 'standing', 100);
    expect(Math.max(...speed, ...torque)).toBe(0);
    expect(Math.max(...pedal)).toBeGreaterThan(20);
  });
});
