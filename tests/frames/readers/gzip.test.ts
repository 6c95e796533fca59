import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { pictureOf, readBytes, reportOf } from './reading.ts';

const lines = (from: number, to: number): string =>
  Array.from({ length: to - from }, (_each, i) => {
    const n = from + i;
    return `(${(100 + n * 0.001).toFixed(6)}) can0 1F4#${n.toString(16).padStart(8, '0')}\n`;
  }).join('');
const gzip = (text: string): Uint8Array => new Uint8Array(gzipSync(text));
const join = (...parts: Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));

describe('gzip (RFC 1952)', () => {
  it('reads the same as unpacked, whatever the name', async () => {
    const plain = await readBytes(lines(0, 500));
    const packed = await readBytes(gzip(lines(0, 500)), {}, 'capture.bin');
    expect(pictureOf(packed)).toEqual(pictureOf(plain));
    expect(reportOf(packed).bytes).toBe(gzip(lines(0, 500)).length);
  });

  it('reads members put one behind the other (section 2.2), also in tiny slices', async () => {
    const packed = join(gzip(lines(0, 300)), gzip(lines(300, 400)), gzip(lines(400, 401)));
    const plain = pictureOf(await readBytes(lines(0, 401)));
    expect(pictureOf(await readBytes(packed))).toEqual(plain);
    expect(pictureOf(await readBytes(packed, { sliceBytes: 11 }))).toEqual(plain);
  });

  it('keeps what it could unpack of a cut-off file, and says so', async () => {
    const packed = gzip(lines(0, 20_000));
    const table = await readBytes(packed.slice(0, Math.floor(packed.length / 2)));
    expect(table.frameCount).toBeGreaterThan(5000);
    expect(table.frameCount).toBeLessThan(15_000);
    expect(reportOf(table).warnings.map(({ code }) => code)).toEqual(['gzip-damaged']);
  });

  it('keeps what comes before damage in the middle', async () => {
    const packed = gzip(lines(0, 20_000));
    packed.fill(0xff, Math.floor(packed.length / 2), Math.floor(packed.length / 2) + 64);
    const table = await readBytes(packed);
    expect(table.frameCount).toBeGreaterThan(2000);
    expect(reportOf(table).warnings.map(({ code }) => code)).toEqual(['gzip-damaged']);
  });
});
