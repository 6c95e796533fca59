/**
 * A part of a capture for sending, read back by our own readers; the packets also byte by byte. Property: whatever the map, the marks and the
 * releases, nothing that the part sends, nothing unreleased, nothing that the logger sent and nothing outside the span is in any file.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FrameBuilder } from '../../../src/frames/builder.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { payloadAt, type FrameTable } from '../../../src/frames/table.ts';
import { chooseFrames, releasedKeys, type SendingForm } from '../../../src/handover/sending/choice.ts';
import { framesInSpan, lastPayloads, writeExcerpt } from '../../../src/handover/sending/excerpt.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { compileFrame } from '../../../src/map/decode.ts';
import { idNumber } from '../../../src/map/identifiers.ts';
import { parsePayload } from '../../../src/map/raw-values.ts';
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { needed } from './schedule-run.ts';

interface Row {
  readonly timeUs: number;
  readonly bus: string;
  readonly id: number;
  readonly extended?: boolean;
  readonly sent?: boolean;
  readonly fd?: boolean;
  readonly bytes: readonly number[];
}

const START_S = 1_773_042_000;

function tableOf(rows: readonly Row[]): FrameTable {
  const builder = new FrameBuilder();
  for (const { timeUs, bus, id, extended = false, sent = false, fd = false, bytes } of rows) {
    const slot = builder.slot(builder.busIndex(bus), id, extended, sent);
    builder.add(slot, timeUs, Uint8Array.from(bytes), 0, bytes.length, fd ? 1 : 0);
  }
  return builder.finish({ files: () => [], origin: () => ({ kind: 'epoch', text: `${START_S}.250000` }) });
}

/** All frames in order: "bus id payload atUs". */
function framesOf(table: FrameTable): string[] {
  return table.streams
    .flatMap((stream) =>
      Array.from({ length: stream.count }, (_, row) => {
        const since = (Number(table.origin.text) - START_S) * 1e6 + (stream.timeUs[row] as number) - 250_000;
        const bytes = [...payloadAt(stream, row)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
        return {
          atUs: Math.round(since),
          text: `${stream.bus} ${stream.id.toString(16)}${stream.extended ? 'x' : ''} ${bytes}`,
        };
      }),
    )
    .sort((a, b) => a.atUs - b.atUs || a.text.localeCompare(b.text))
    .map(({ atUs, text }) => `${text} ${atUs}`);
}

async function readBack(bytes: Uint8Array, ending: string): Promise<FrameTable> {
  const outcome = await readCapture([{ source: memorySource(`back.${ending}`, bytes) }], {}, {});
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
}

const guarded = needed({
  name: 'gateway',
  id: '0x200',
  counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 })],
  checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2, 3, 4, 5, 6] })],
});
const fd = needed({ name: 'big', id: '0x18FF50E5', extended: true, length: 12, fd: true, bus: 'can1' });

function guardedRows(count: number): Row[] {
  return Array.from({ length: count }, (_, i) => {
    const bytes = [i & 255, 7, 0, 0, 0, 0, i & 15];
    return {
      timeUs: 100_000 * i,
      bus: 'can0',
      id: 0x200,
      bytes: [...bytes, bytes.reduce((all, byte) => all ^ byte, 0)],
    };
  });
}

const fdRows = Array.from({ length: 10 }, (_, i) => ({
  timeUs: 50_000 + 300_000 * i,
  bus: 'can1',
  id: 0x18ff50e5,
  extended: true,
  fd: true,
  bytes: Array.from({ length: 12 }, (_each, k) => (i * 16 + k) & 255),
}));

function excerptOf(map: SignalMap, table: FrameTable, release: readonly string[], form: SendingForm = 'live') {
  const keys = releasedKeys(map, release, form);
  if (!keys.ok) throw new Error(keys.problems[0].message);
  const span = { fromS: 0.5, toS: 1.6 };
  const { going } = chooseFrames(map, keys.value, form);
  return { span, ...framesInSpan(table, map, going, span) };
}

describe('written and read back', () => {
  const map = aMap([guarded, fd], { part: { title: 'Pump', donor: '', notes: '' } });
  const table = tableOf([...guardedRows(30), ...fdRows]);

  it.each(['log', 'pcapng'] as const)('%s: the frames of the span, with their times, and no others', async (as) => {
    const { found, span } = excerptOf(map, table, ['gateway', 'big']);
    const written = writeExcerpt(table, found, span, { as, loops: 1, recount: false, comments: [] });
    const back = await readBack(written.bytes, as);
    const want = framesOf(table).filter((line) => {
      const atUs = Number(line.split(' ')[3]);
      return atUs >= 500_000 && atUs <= 1_600_000;
    });
    expect(framesOf(back)).toEqual(want);
    expect(written.frames).toBe(want.length);
    expect(back.streams.every(({ direction }) => direction === 'received')).toBe(true);
    const big = back.streams.find(({ extended }) => extended);
    expect([...(big?.fdFlags ?? [])].every((flags) => flags === 1)).toBe(true);
  });

  it('in repetitions as recorded, the counter breaks where the end meets the beginning', async () => {
    const { found, span } = excerptOf(map, table, ['gateway']);
    const { bytes } = writeExcerpt(table, found, span, { as: 'log', loops: 3, recount: false, comments: [] });
    const stream = (await readBack(bytes, 'log')).streams[0];
    expect([...counterValues(guarded, stream as never)]).toEqual(
      [...Array(3)].flatMap(() => [5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 0]),
    );
  });

  it('re-counted, counters run on over repetitions and every checksum holds', async () => {
    const { found, span } = excerptOf(map, table, ['gateway']);
    const { bytes, unguarded } = writeExcerpt(table, found, span, {
      as: 'pcapng',
      loops: 3,
      recount: true,
      comments: [],
    });
    const stream = (await readBack(bytes, 'pcapng')).streams[0] as FrameTable['streams'][number];
    expect(unguarded).toBe(0);
    expect(stream.count).toBe(36);
    expect(counterValues(guarded, stream)).toEqual(Array.from({ length: 36 }, (_, i) => (5 + i) % 16));
    const compiled = compileFrame(guarded);
    for (let row = 0; row < stream.count; row++)
      expect(compiled.decode(payloadAt(stream, row)).checksums.every(({ holds }) => holds)).toBe(true);
    // One repetition lasts as long as the span.
    expect((stream.timeUs[12] as number) - (stream.timeUs[0] as number)).toBe(1_100_000);
  });

  it('the last payload of each frame in the span becomes the payload at rest', () => {
    const { found, span } = excerptOf(map, table, ['gateway', 'big']);
    const [gateway] = lastPayloads(found, span);
    expect(gateway).toMatchObject({ id: '0x200', payload: '10 07 00 00 00 00 00 17', fromS: 0.5, toS: 1.6 });
    expect(parsePayload(lastPayloads(found, span)[1]?.payload ?? '')?.length).toBe(12);
  });

  it('pcapng by its blocks (draft-ietf-opsawg-pcapng, from memory): section with the comments, interface, packets', () => {
    const { found, span } = excerptOf(map, table, ['gateway']);
    const comments = ['Read me: ü', 'second'];
    const { bytes } = writeExcerpt(table, found, span, { as: 'pcapng', loops: 1, recount: false, comments });
    const view = new DataView(bytes.buffer);
    const types: number[] = [];
    const told: string[] = [];
    for (let at = 0; at < bytes.length;) {
      const [type, length] = [view.getUint32(at, true), view.getUint32(at + 4, true)];
      expect(length % 4).toBe(0);
      // The length stands at both ends of a block.
      expect(view.getUint32(at + length - 4, true)).toBe(length);
      types.push(type);
      if (type === 0x0a0d0d0a) {
        expect(view.getUint32(at + 8, true)).toBe(0x1a2b3c4d);
        expect([view.getUint16(at + 12, true), view.getUint16(at + 14, true)]).toEqual([1, 0]);
        for (let option = at + 24; view.getUint16(option, true) !== 0;) {
          const size = view.getUint16(option + 2, true);
          expect(view.getUint16(option, true)).toBe(1);
          told.push(new TextDecoder().decode(bytes.subarray(option + 4, option + 4 + size)));
          option += 4 + ((size + 3) & ~3);
        }
      }
      if (type === 1) expect(view.getUint16(at + 8, true)).toBe(227);
      at += length;
    }
    expect(told).toEqual(comments);
    expect(types).toEqual([0x0a0d0d0a, 1, 1, ...Array.from({ length: 12 }, () => 6)]);
  });
});

function counterValues(frame: MapFrame, stream: FrameTable['streams'][number]): number[] {
  const compiled = compileFrame(frame);
  return Array.from(
    { length: stream.count },
    (_, row) => compiled.decode(payloadAt(stream, row)).counters['alive'] as number,
  );
}

describe('whatever the map, the releases and the span', () => {
  const roles: readonly MapFrame['role'][] = ['sent-by-part', 'needed-by-part', 'other', 'unknown'];

  function randomMap(random: Random): SignalMap {
    const frames = Array.from({ length: 2 + random.below(8) }, (_, i) => {
      const checksums =
        random.next() < 0.3
          ? [
              aChecksum({
                lsb: { byte: 7, bit: 0 },
                length: 8,
                method: random.pick(['mac', 'unsolved', 'xor']),
                covers: [0, 1],
              }),
            ]
          : [];
      const signals =
        random.next() < 0.4
          ? [
              aSignal({
                name: random.pick(['torque_request', 'contactor', 'lamp', 'level']),
                lsb: { byte: 0, bit: 0 },
                length: 8,
              }),
            ]
          : [];
      const sender = random.next() < 0.5 ? { group: random.pick(['A', 'B', 'C']), name: '', confidence: 1 } : null;
      const sent = random.pick([
        undefined,
        [{ kind: 'bench', capture: 'b', trials: 3, moved: false }],
        [{ kind: 'bench', capture: 'b', trials: 1, moved: true }],
        [{}],
      ]);
      return {
        ...aFrame({
          name: `f${random.below(12)}`,
          id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
          bus: random.pick(['can0', 'can1']),
          role: random.pick(roles),
          sender,
          checksums,
          signals,
        }),
        ...(sent ? { sent } : {}),
      };
    });
    return aMap(frames as MapFrame[]);
  }

  it('nothing of the part, nothing unreleased, nothing sent by the logger, nothing outside the span', async () => {
    let [written, none] = [0, 0];
    await fc.assert(
      fc.asyncProperty(fc.nat(), fc.constantFrom('log', 'pcapng'), fc.boolean(), async (seed, as, recount) => {
        const random = createRandom(seed);
        const map = randomMap(random);
        const rows: Row[] = Array.from({ length: 300 }, (_, i) => ({
          timeUs: i * 10_000 + random.below(9000),
          bus: random.pick(['can0', 'can1']),
          id: 0x100 + random.below(12),
          sent: random.next() < 0.2,
          bytes: Array.from({ length: 8 }, () => random.below(256)),
        }));
        const table = tableOf(rows);
        const names = map.frames
          .filter(() => random.next() < 0.4)
          .map(({ name, bus, id }) => (random.next() < 0.5 ? name : `${bus}/${id}`));
        const form: SendingForm = recount ? 'live' : 'as-recorded';
        const meant = names.flatMap((name) => {
          const keys = releasedKeys(map, [name], form);
          return keys.ok ? [...keys.value] : [];
        });
        const { going } = chooseFrames(map, new Set(meant), form);
        const fromS = random.between(0, 2);
        const span = { fromS, toS: fromS + random.between(0.1, 1) };
        const { found } = framesInSpan(table, map, going, span);
        const { bytes, frames } = writeExcerpt(table, found, span, {
          as: as as 'log',
          loops: 1,
          recount,
          comments: ['x'],
        });
        if (frames === 0) {
          none++;
          return;
        }
        written++;
        const back = await readBack(bytes, as);
        const received = new Set(
          framesOf({ ...table, streams: table.streams.filter(({ direction }) => direction === 'received') }),
        );
        expect(back.frameCount).toBe(frames);
        for (const line of framesOf(back)) {
          const [bus, id, , at] = line.split(' ');
          const frame = map.frames.find(
            (each) => each.bus === bus && idNumber(each.id) === parseInt(id as string, 16),
          ) as MapFrame;
          expect(frame.role).not.toBe('sent-by-part');
          const moved = (frame as { sent?: { moved?: boolean }[] }).sent ?? [];
          const harmless =
            moved.length > 0 &&
            moved.every((entry) => entry.moved === false) &&
            !/torque|contactor/.test(frame.signals[0]?.name ?? '');
          expect(harmless || meant.includes(`${bus}/${frame.id}`)).toBe(true);
          expect(frame.checksums.some(({ method }) => method === 'mac')).toBe(false);
          expect(Number(at)).toBeGreaterThanOrEqual(Math.round(span.fromS * 1e6));
          expect(Number(at)).toBeLessThanOrEqual(Math.round(span.toS * 1e6));
          if (!recount) expect(received.has(line)).toBe(true);
        }
      }),
      { numRuns: 300, seed: 4711 },
    );
    expect(written).toBeGreaterThan(60);
    expect(none).toBeGreaterThan(20);
  });
});
