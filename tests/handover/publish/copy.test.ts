/** The copy: what is written over, what is left out, what stays, and that no number is in anything that is written. */
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { payloadAt } from '../../../src/frames/table.ts';
import { publishingCopy, type CopyRequest, type PublishingCopy } from '../../../src/handover/publish/copy.ts';
import { copyFiles, firstUnclean } from '../../../src/handover/publish/files.ts';
import { writeLog } from '../../../src/handover/publish/log.ts';
import { textBlanker, numbersIn } from '../../../src/handover/publish/texts.ts';
import { verifyChecksum } from '../../../src/map/checksum.ts';
import { encodeFrame } from '../../../src/map/encode.ts';
import { parsePayload } from '../../../src/map/raw-values.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { tableOfLines, type LogLine } from '../../support/log-table.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';

const VEHICLE = '2X9KB7R3XPT104417';
const hex = (bytes: Uint8Array | string): string => Buffer.from(bytes as never, 'latin1').toString('hex');
const REQUEST: CopyRequest = { typed: [], keep: [], also: [], hidesTimes: false, texts: [] };

const PAGES = 3;
/** Rocksoft model (Williams 1993), bit by bit: width 8, polynomial 2F, from FF on, nothing reflected. */
const checksumOf = (bytes: readonly number[]): number =>
  bytes.reduce((register, byte) => {
    let value = register ^ byte;
    for (let bit = 0; bit < 8; bit++) value = value & 0x80 ? ((value << 1) ^ 0x2f) & 255 : value << 1;
    return value;
  }, 0xff);

const AT_REST = [0, 0x32, 0x58, 0x39, 0x4b, 0x42, 0];
const REST = [...AT_REST, checksumOf(AT_REST)]
  .map((byte) => byte.toString(16).toUpperCase().padStart(2, '0'))
  .join(' ');

function pagedFrame(method: 'crc' | 'mac' = 'crc'): MapFrame {
  return aFrame({
    id: '0x3A1',
    name: 'identity',
    selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })],
    counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 })],
    checksums: [
      aChecksum({
        lsb: { byte: 7, bit: 0 },
        length: 8,
        method,
        ...(method === 'crc'
          ? { width: 8, poly: '0x2F', init: '0xFF', refin: false, refout: false, xorout: '0x0' }
          : {}),
        covers: [0, 1, 2, 3, 4, 5, 6],
      }),
    ],
    signals: [
      aSignal({
        ...{ name: 'text', lsb: { byte: 5, bit: 0 }, length: 40, order: 'big', coding: 'text', kind: 'text' },
        ...{ when: { page: [0] }, states: { '216172782': VEHICLE.slice(0, 5) }, notes: `reads ${VEHICLE}` },
      }),
      aSignal({
        name: 'level',
        lsb: { byte: 1, bit: 0 },
        length: 16,
        when: { page: [9] },
        observed: { min: 3, max: 900 },
      }),
    ],
    unclaimed: [
      { lsb: { byte: 5, bit: 0 }, length: 8, order: 'little', reason: 'constant', value: VEHICLE.charCodeAt(4) },
    ],
    rest: { payload: REST, capture: 'c1', fromS: 0, toS: 1 },
  });
}

const guarded = (payload: Uint8Array, at: number): Uint8Array => {
  const made = encodeFrame(pagedFrame(), {}, { base: payload, counters: { alive: at % 16 } });
  if (!made.ok) throw new Error(made.problems[0].message);
  return made.value;
};

/** The number over four pages with counter and checksum, and a frame that has nothing to do with it. */
async function capture(breaks: (at: number) => boolean = () => false): Promise<FrameTable> {
  const lines: LogLine[] = [];
  for (let at = 0; at < 240; at++) {
    const page = at % (PAGES + 1);
    const text = VEHICLE.slice(page * 5, page * 5 + 5).padEnd(5, '\0');
    const payload = guarded(Uint8Array.from([page, ...Buffer.from(text, 'latin1'), 0, 0]), at);
    if (breaks(at)) payload[7]! ^= 1;
    lines.push([at * 0.02, '3A1', hex(payload)]);
    lines.push([
      at * 0.02 + 0.001,
      '0C0',
      `${(at % 200).toString(16).padStart(2, '0')}0000${((at * 91) % 251).toString(16).padStart(2, '0')}`,
    ]);
  }
  return tableOfLines(lines);
}

async function copied(
  table: FrameTable,
  frames: MapFrame[],
  request: Partial<CopyRequest> = {},
  notes = '',
): Promise<PublishingCopy> {
  const map = aMap(frames, { part: { title: 'Pump inverter', donor: `VIN ${VEHICLE}`, notes } });
  const made = await publishingCopy(table, map, { ...REQUEST, ...request });
  if (!made.ok) throw new Error(made.problems[0].message);
  return made.value;
}

const streamOf = ({ table }: { table: FrameTable }, id: number) => table.streams.find((stream) => stream.id === id);

describe('the copy of a capture', () => {
  it('writes over letters and digits by their kind on each page, keeps counters, makes checksums anew', async () => {
    const table = await capture();
    const copy = await copied(table, [pagedFrame()]);
    const stream = streamOf(copy, 0x3a1);
    const was = streamOf({ table }, 0x3a1);
    if (!stream || !was) throw new Error('no such stream');
    expect(stream.count).toBe(was.count);
    const text = [0, 1, 2, 3]
      .map((row) => Buffer.from(payloadAt(stream, row).subarray(1, 6)).toString('latin1'))
      .join('');
    expect(text.replaceAll('\0', '')).toBe('0X0XX0X0XXX000000');
    const [checksum] = pagedFrame().checksums;
    expect(checksum && verifyChecksum(checksum, pagedFrame(), stream)).toMatchObject({ passed: 240, checked: 240 });
    for (let row = 0; row < stream.count; row++) expect(payloadAt(stream, row)[6]).toBe(payloadAt(was, row)[6]);
    expect(copy.list).toMatchObject({ framesWritten: 480, framesChanged: 240, framesLeftOut: 0 });
  });

  it('never touches frames without a number, nor times or order', async () => {
    const table = await capture();
    const copy = await copied(table, [pagedFrame()]);
    expect(streamOf(copy, 0xc0)?.payload).toEqual(streamOf({ table }, 0xc0)?.payload);
    expect(streamOf(copy, 0x3a1)?.timeUs).toEqual(streamOf({ table }, 0x3a1)?.timeUs);
  });

  it('leaves out frames whose guard did not hold, and counts them', async () => {
    const copy = await copied(await capture((at) => at % 10 === 0), [pagedFrame()]);
    expect(copy.list).toMatchObject({ framesLeftOut: 24, framesChanged: 216 });
    expect(copy.list.frames[0]?.reason).toContain('did not hold');
  });

  it('leaves out frames whose guard has a key, and those that the map does not describe', async () => {
    const keyed = await copied(await capture(), [pagedFrame('mac')]);
    expect(keyed.list).toMatchObject({ framesLeftOut: 240, framesChanged: 0, restsDropped: ['identity'] });
    expect(keyed.list.frames[0]?.reason).toContain('cannot be computed');
    const unknown = await copied(await capture(), []);
    expect(unknown.list.framesLeftOut).toBe(240);
    expect(unknown.list.frames[0]?.reason).toContain('does not describe');
  });

  it('keeps what the person refuses, and knows no other names', async () => {
    const table = await capture();
    const { search } = await copied(table, [pagedFrame()]);
    const [first] = search.finds;
    const kept = await copied(table, [pagedFrame()], { keep: search.finds.map(({ key }) => key) });
    expect(first?.kind).toBe('vehicle-number');
    expect(kept.list).toMatchObject({ framesChanged: 0, framesLeftOut: 0 });
    const made = await publishingCopy(table, aMap([]), { ...REQUEST, keep: ['serial-number-99'] });
    expect(made.ok ? '' : made.problems[0].code).toBe('unknown-find');
  });

  it('refuses numbers too short to be told from chance', async () => {
    const made = await publishingCopy(await capture(), aMap([]), { ...REQUEST, typed: ['12'] });
    expect(made.ok ? '' : made.problems[0].code).toBe('number-too-short');
  });
});

describe('the copy of a map', () => {
  it('has the number nowhere: payload at rest, constants, states, texts', async () => {
    const { map } = await copied(await capture(), [pagedFrame()], {}, `see ${VEHICLE.slice(0, 3)} ${VEHICLE.slice(3)}`);
    const [frame] = map.frames;
    expect(map.part).toMatchObject({ donor: 'VIN 0X0XX0X0XXX000000', notes: 'see 0X0 XX0X0XXX000000' });
    const rest = parsePayload(frame?.rest?.payload ?? '');
    expect(Buffer.from(rest?.subarray(1, 6) ?? []).toString()).toBe('0X0XX');
    expect(frame?.unclaimed[0]?.value).toBe('X'.charCodeAt(0));
    expect(frame?.signals[0]).toMatchObject({ states: {}, notes: 'reads 0X0XX0X0XXX000000' });
  });

  it('leaves fields of other pages as they were', async () => {
    const { map } = await copied(await capture(), [pagedFrame()]);
    expect(map.frames[0]?.signals[1]?.observed).toEqual({ min: 3, max: 900 });
  });

  it('hides days and times of day where asked to', async () => {
    const map = aMap([pagedFrame()], {
      captures: [
        { id: 'c1', title: 'drive of 2026-11-25', files: [{ name: 'd_20261125_101500.log', bytes: 1, sha256: '' }] },
      ],
    });
    const made = await publishingCopy(await capture(), map, { ...REQUEST, hidesTimes: true });
    if (!made.ok) throw new Error(made.problems[0].message);
    expect(made.value.map.captures[0]).toMatchObject({
      title: 'drive of 0000-00-00',
      files: [{ name: 'd_00000000_000000.log' }],
    });
  });
});

describe('what is written', () => {
  it('is clean in every file, list included, and the log reads as frames', async () => {
    const copy = await copied(await capture(), [pagedFrame()]);
    const files = copyFiles(copy);
    expect(files.map(({ name }) => name).sort()).toEqual([
      'blanked.json',
      'blanked.md',
      'report.html',
      'report.md',
      'signal-map.json',
    ]);
    expect(firstUnclean(copy, files)).toBeNull();
    for (const { bytes } of files) expect(Buffer.from(bytes).toString()).not.toContain(VEHICLE.slice(3, 12));
    const pieces: Uint8Array[] = [];
    const frames = await writeLog(
      copy.table,
      { format: 'log', hidesTimes: true },
      { write: (bytes) => void pieces.push(bytes) },
    );
    expect(frames).toBe(480);
    expect(Buffer.concat(pieces).toString().split('\n')[0]).toMatch(/^\(0\.000000\) can0 3A1#00/);
  });

  it('would say so of a file that is not clean', async () => {
    const copy = await copied(await capture(), [pagedFrame()]);
    const bytes = new TextEncoder().encode(`note: ${VEHICLE.toLowerCase()}`);
    expect(firstUnclean(copy, [{ name: 'n.txt', mime: 'text/plain', bytes }])).toBe('n.txt');
  });
});

describe('numbers in texts', () => {
  it('writes them over with or without signs between, and says how often', () => {
    const blank = textBlanker(['KR-8840251736']);
    expect(blank('a KR8840251736, kr-8840 251736 and 8840251736')).toEqual({
      text: 'a XX0000000000, xx-0000 000000 and 0000000000',
      times: 3,
    });
    expect(blank('KR 12').times).toBe(0);
  });

  it('finds them by their shape, or by the word before them', () => {
    expect(numbersIn(`from ${VEHICLE}, S/N: A77-31905, part no word`).map(({ text }) => text)).toEqual([
      VEHICLE,
      'A77-31905',
    ]);
    expect(numbersIn('serial number of the frame is unknown; 2026-11-25; version 1.2.3')).toEqual([]);
  });
});
