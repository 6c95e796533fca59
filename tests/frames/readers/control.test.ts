import { createHash } from 'node:crypto';
import { sha256 } from '@noble/hashes/sha2.js';
import { describe, expect, it } from 'vitest';
import { Cancelled, type Progress } from '../../../src/kit/control.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import type { ReadingProgress } from '../../../src/frames/reading-types.ts';
import { Sha256 } from '../../../src/frames/reading/sha256.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { readBytes, reportOf } from './reading.ts';

const LOG = new TextEncoder().encode(
  Array.from(
    { length: 60_000 },
    (_each, i) => `(${(i * 0.001).toFixed(6)}) can${i % 2} ${i % 3 ? '1F4' : '2A0'}#0011223344556677\n`,
  ).join(''),
);
const source = memorySource('drive.log', LOG);
const hex = (bytes: Uint8Array): string => [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');

describe('reading under control', () => {
  it('tells progress that rises to the end, and identifiers long before it', async () => {
    const told: ReadingProgress[] = [];
    const shares: Progress[] = [];
    await readCapture([{ source }], { sliceBytes: 256 << 10 }, { onProgress: (each) => shares.push(each) }, (each) =>
      told.push(each),
    );
    expect(told.length).toBeGreaterThan(5);
    expect(told[0]?.streams.length).toBe(4);
    expect(told[0]?.bytesRead).toBeLessThan(LOG.length / 4);
    expect(told.at(-1)).toMatchObject({ bytesRead: LOG.length, bytesTotal: LOG.length, frames: 60_000, rejected: 0 });
    expect(told.at(-1)?.reachedS).toBeCloseTo(59.999, 6);
    const values = shares.map(({ share }) => share);
    expect(values).toEqual([...values].sort((a, b) => a - b));
  });

  it('stops where it is asked to', async () => {
    const signal = { aborted: false };
    let breaths = 0;
    const breathe = async () => {
      if (++breaths === 3) signal.aborted = true;
    };
    const reading = readCapture([{ source }], { sliceBytes: 64 << 10 }, { signal, breathe });
    await expect(reading).rejects.toBeInstanceOf(Cancelled);
    expect(breaths).toBe(3);
  });

  it('passes on what the source fails with', async () => {
    const broken = {
      name: 'gone.log',
      size: LOG.length,
      slice: async (start: number, end: number) => {
        if (start > 0) throw new Error('the disk is gone');
        return LOG.subarray(start, end);
      },
    };
    await expect(readCapture([{ source: broken }], { sliceBytes: 64 << 10 }, {})).rejects.toThrow('the disk is gone');
  });
});

describe('the digest', () => {
  // Source: FIPS 180-4 via its published example for the one-block message "abc" (memory), and two libraries.
  it('gives the published value for "abc"', () => {
    expect(new Sha256().update(new TextEncoder().encode('abc')).hex()).toBe(
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    );
  });

  it.each([0, 1, 55, 56, 63, 64, 65, 119, 120, 1000, 4099])(
    'agrees with two libraries on %i bytes fed in pieces',
    (length) => {
      const bytes = Uint8Array.from({ length }, (_each, i) => (i * 31 + 7) & 255);
      const own = new Sha256();
      for (let at = 0; at < length; at += 37) own.update(bytes.subarray(at, at + 37));
      const found = own.hex();
      expect(found).toBe(hex(sha256(bytes)));
      expect(found).toBe(createHash('sha256').update(bytes).digest('hex'));
    },
  );

  it('is made over the bytes as given, by the platform where it offers one', async () => {
    const expected = createHash('sha256').update(LOG).digest('hex');
    expect(reportOf(await readBytes(LOG)).sha256).toBe(expected);
    const createDigest = () => {
      const hash = createHash('sha256');
      return { update: (bytes: Uint8Array) => hash.update(bytes), hex: () => hash.digest('hex') };
    };
    expect(reportOf(await readBytes(LOG, { createDigest })).sha256).toBe(expected);
  });
});
