/** Geometry and painting of the weave, against the figures of the drawing rules (docs: the look of the workbench). */
import { describe, expect, it } from 'vitest';
import { bitAtHeight, foldWords, layoutWeave, spansOf, stitchesOf } from '../../src/app/pictures/weave-layout.ts';
import { gapColumns, heldColumns } from '../../src/app/pictures/weave-columns.ts';
import { paintWeave } from '../../src/app/pictures/weave-paint.ts';
import { mix, pack, parseColour, rampOf, thickness } from '../../src/app/pictures/weave-shade.ts';
import type { WeavePicture } from '../../src/jobs/engine-types.ts';

const eight = layoutWeave({ bytes: 8, available: 491, moves: () => true, openByte: null });

function picture(
  bytes: number,
  columns: number,
  fill: (bit: number, column: number) => [number, number],
): WeavePicture {
  const set = new Float32Array(bytes * 8 * columns);
  const changed = new Float32Array(bytes * 8 * columns);
  for (let bit = 0; bit < bytes * 8; bit++)
    for (let column = 0; column < columns; column++)
      [set[bit * columns + column], changed[bit * columns + column]] = fill(bit, column);
  return {
    stream: { bus: 'can0', id: 0x1f4, extended: false, direction: 'received' },
    window: { fromS: 0, toS: columns, columns },
    bytes,
    frames: new Uint32Array(columns).fill(10),
    set,
    changed,
    gaps: [],
  };
}

describe('threads from top to bottom', () => {
  it('puts byte 0 bit 7 first, 7 px a thread and 5 px between bytes', () => {
    expect(eight.rows[0]).toMatchObject({ kind: 'thread', byte: 0, bit: 7, y: 0, height: 7 });
    expect(eight.rows[8]).toMatchObject({ byte: 1, bit: 7, y: 61 });
    expect(eight.height).toBe(8 * 56 + 7 * 5);
  });

  it('finds the bit under a height, the nearest one between bytes', () => {
    expect(bitAtHeight(eight, 0)).toBe(7);
    expect(bitAtHeight(eight, 55.9)).toBe(0);
    expect(bitAtHeight(eight, 57)).toBe(0);
    expect(bitAtHeight(eight, 60)).toBe(15);
    expect(bitAtHeight(eight, 1000)).toBe(56);
  });

  it('shrinks the pitch before it folds', () => {
    const sixteen = layoutWeave({ bytes: 16, available: 491, moves: () => true, openByte: null });
    expect(sixteen.folds).toBe(false);
    expect(sixteen.pitch).toBeCloseTo((491 - 75) / 128, 10);
  });
});

describe('64 bytes', () => {
  // Forty bytes move: too many for threads of 3 px.
  const moves = (byte: number): boolean => byte < 40 || byte === 48;
  const layout = layoutWeave({ bytes: 64, available: 491, moves, openByte: 1 });

  it('folds bytes that never move, keeps strips, and opens one byte at full pitch', () => {
    expect(layout.folds).toBe(true);
    expect(layout.rows.filter((row) => row.kind === 'thread')).toHaveLength(8);
    expect(layout.rows.filter((row) => row.kind === 'strip')).toHaveLength(40);
    const folded = layout.rows.flatMap((row) => (row.kind === 'folded' ? [foldWords(row)] : []));
    expect(folded).toEqual(['bytes 40–47 still', 'bytes 49–63 still']);
  });

  it('leads every bit to the row that shows it', () => {
    for (let bit = 0; bit < 512; bit++) {
      const row = layout.rows[layout.rowOfBit[bit] as number];
      const last = row?.kind === 'folded' ? row.lastByte : row?.byte;
      expect(row && row.byte <= bit >> 3 && (last as number) >= bit >> 3).toBe(true);
    }
  });
});

describe('fields over threads', () => {
  it('draws a big-endian field as one run, broad at the top', () => {
    const spans = spansOf(eight, { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' });
    expect(spans).toHaveLength(1);
    expect(spans[0]).toMatchObject({ top: 0, bottom: 117, topWeight: 15, bottomWeight: 0 });
  });

  it('draws a little-endian field as a run a byte, stitched from the carry bit to where it goes on', () => {
    const placement = { lsb: { byte: 2, bit: 0 }, length: 12, order: 'little' } as const;
    const spans = spansOf(eight, placement);
    expect(spans.map(({ topWeight, bottomWeight }) => [topWeight, bottomWeight])).toEqual([
      [7, 0],
      [11, 8],
    ]);
    // The carry leaves byte 2 bit 7 (top thread of byte 2) and goes on at byte 3 bit 0 (bottom thread of byte 3).
    expect(stitchesOf(eight, placement)).toEqual([{ from: 122 + 3.5, to: 183 + 7 * 7 + 3.5 }]);
  });
});

describe('thickness and darkness', () => {
  it('follows 1.9 + (pitch - 2.2) * min(1, (c / 0.3) ^ 0.45)', () => {
    expect(thickness(0, false, 7)).toBe(1);
    expect(thickness(0, true, 7)).toBe(1.9);
    expect(thickness(0.3, true, 7)).toBeCloseTo(6.7, 10);
    expect(thickness(0.9, false, 7)).toBeCloseTo(6.7, 10);
    // (0.03 / 0.3) ^ 0.45 = 10 ^ -0.45 = 0.354813..., by a pocket calculator.
    expect(thickness(0.03, false, 7)).toBeCloseTo(1.9 + 4.8 * 0.3548134, 6);
  });

  it('runs low, hue, full on paper: 26 % hue on ground, the hue, the hue with 42 % ink', () => {
    const ground = parseColour('#f2f3ee') as [number, number, number];
    const hue = parseColour('#156377') as [number, number, number];
    const ink = parseColour('#16222b') as [number, number, number];
    const ramp = rampOf({ ground, hue, ink, night: false });
    expect(ramp[0]).toBe(pack(mix(ground, hue, 0.26)));
    expect(ramp[255]).toBe(pack(mix(hue, ink, 0.42)));
    expect(parseColour('rgb(22 34 43 / .045)')).toEqual([22, 34, 43]);
  });
});

describe('columns', () => {
  it('holds a value between slow frames and cuts the thread in a gap', () => {
    const slow = picture(1, 10, () => [1, 0]);
    slow.frames.fill(0);
    slow.frames[1] = 1;
    slow.frames[8] = 1;
    const gapped = { ...slow, gaps: [{ fromS: 4, toS: 8 }] };
    expect([...heldColumns(gapped)]).toEqual([-1, 1, 1, 1, -1, -1, -1, -1, 8, 8]);
    expect([...gapColumns(gapped)]).toEqual([0, 0, 0, 0, 1, 1, 1, 1, 0, 0]);
  });

  it('paints nothing in a gap, one pixel for a still zero and a thick stroke for movement', () => {
    const source = picture(1, 4, (bit, column) => (bit === 7 && column === 2 ? [0.5, 0.5] : [0, 0]));
    source.frames[3] = 0;
    const pixels = paintWeave(
      { ...source, gaps: [{ fromS: 3, toS: 4 }] },
      layoutWeave({ bytes: 1, available: 100, moves: () => true, openByte: null }),
      [],
      {
        ramp: rampOf({ ground: [255, 255, 255], hue: [0, 0, 255], ink: [0, 0, 0], night: false }),
        rest: pack([1, 2, 3]),
        shows: 'set',
        scale: 2,
      },
    );
    const inked = (column: number): number =>
      Array.from({ length: 14 }, (_, y) => pixels.data[y * pixels.width + column] as number).filter((c) => c >>> 24 > 0)
        .length;
    expect(inked(0)).toBe(2);
    expect(inked(2)).toBeGreaterThanOrEqual(13);
    expect(inked(3)).toBe(0);
  });
});

it('shows threads of the bytes that move where folding the still ones makes room', () => {
  const layout = layoutWeave({ bytes: 64, available: 491, moves: (byte) => byte < 4, openByte: null });
  expect(layout.rows.filter(({ kind }) => kind === 'thread')).toHaveLength(32);
  expect(layout.rows[0]?.height).toBe(7);
  expect(layout.rows.at(-1)).toMatchObject({ kind: 'folded', byte: 4, lastByte: 63 });
});
