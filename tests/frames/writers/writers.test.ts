/** Captures written as files are read again as what they were: identifiers, payloads, flags, directions and stamps. */
import { describe, expect, it } from 'vitest';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { payloadAt, streamName, type FrameTable } from '../../../src/frames/table.ts';
import { ByteWriter } from '../../../src/frames/writers/byte-writer.ts';
import { stampOf, startOf } from '../../../src/frames/writers/frame.ts';
import { logLinesWriter } from '../../../src/frames/writers/log-lines.ts';
import { pcapngWriter } from '../../../src/frames/writers/pcapng.ts';
import { frameOf, optionsOf } from '../../../src/frames/writers/table.ts';

async function read(name: string, bytes: Uint8Array): Promise<FrameTable> {
  const outcome = await readCapture([{ source: memorySource(name, bytes) }], {}, {});
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
}

/** All frames with their exact stamps, in order of time; the order of equal stamps is the order of arrival. */
function told(table: FrameTable): string[] {
  const { seconds, us } = startOf(table.origin);
  return table.streams
    .flatMap((stream) =>
      Array.from({ length: stream.count }, (_, row) => {
        const stamp = stampOf({ seconds, us }, stream.timeUs[row] as number);
        const payload = Buffer.from(payloadAt(stream, row)).toString('hex');
        const words = [stamp.seconds, stamp.ns, streamName(stream), payload, stream.fdFlags?.[row] ?? 0].join(' ');
        return { arrival: stream.arrival[row] as number, words };
      }),
    )
    .sort((a, b) => a.arrival - b.arrival)
    .map(({ words }) => words);
}

function written(table: FrameTable, writerOf: typeof logLinesWriter): Uint8Array {
  const writer = writerOf(optionsOf(table));
  const out = new ByteWriter(0);
  writer.head(out);
  const rows = table.streams.flatMap((stream) => Array.from({ length: stream.count }, (_, row) => ({ stream, row })));
  rows.sort((a, b) => (a.stream.arrival[a.row] as number) - (b.stream.arrival[b.row] as number));
  for (const { stream, row } of rows)
    writer.frame(out, stream.timeUs[row] as number, frameOf(table.buses, stream, row));
  return out.finish();
}

const LINES = {
  plain: [
    '(1764064800.000001) can0 1F4#0010FF00',
    '(1764064800.250000) can1 18FEF100#01',
    '(1764064801.999999) can0 7FF#',
  ],
  fd: [
    '(1764064800.100000) can0 123##1' + '11'.repeat(12),
    '(1764064800.200000) can0 124##200112233',
    '(1764064800.3) can0 125##0',
  ],
  directed: ['(1764064800.100000) can0 7E0#0322F190 T', '(1764064800.110000) can0 7E8#1014 R'],
  nanoseconds: [
    '(1764064800.123456789) can0 100#AA',
    '(1764064800.123456999) can0 100#AB',
    '(1764064801.000000001) can0 100#AC',
  ],
  relative: ['(0.000000) can0 100#AA', '(12.000400) can0 101#AB'],
};

describe('captures written and read again', () => {
  for (const [kind, lines] of Object.entries(LINES))
    for (const [ending, writerOf] of [
      ['log', logLinesWriter],
      ['pcapng', pcapngWriter],
    ] as const)
      it(`${kind} frames as ${ending}`, async () => {
        const table = await read('a.log', new TextEncoder().encode(lines.join('\n')));
        expect(table.frameCount).toBe(lines.length);
        const again = await read(`b.${ending}`, written(table, writerOf));
        // Lines without any direction and packets with one are the same: received.
        expect(told(again)).toEqual(told(table));
      });
});

describe('stamps', () => {
  it('carries from nanoseconds into seconds', () => {
    expect(stampOf({ seconds: 5, us: 999_999.9996 }, 0)).toEqual({ seconds: 6, ns: 0 });
    expect(stampOf(startOf({ text: '1764064800.369233' }), 630_767)).toEqual({ seconds: 1_764_064_801, ns: 0 });
  });
});
