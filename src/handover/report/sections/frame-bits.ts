/** The bits of a frame as a table of text: a row a byte, bit 7 on the left, each cell the number of its field. */
import type { MapFrame } from '../../../map/schema.ts';
import type { Table } from '../document.ts';
import { bitLayouts } from '../pictures/bits-layout.ts';
import type { Claim } from '../pictures/claims.ts';

const STILL = { constant: 'still', filling: 'no data', noise: 'noise', cipher: 'cipher', idle: 'idle' } as const;

export function bitsTable(frame: MapFrame, claims: readonly Claim[]): Table {
  const rows = bitLayouts(frame, claims).flatMap(({ rows: own, pieces }) =>
    own.map(({ firstByte, lastByte }, row) => {
      const cells = Array.from({ length: 8 }, () => '');
      for (const piece of pieces.filter((one) => one.row === row))
        for (let bit = piece.lowBit; bit <= piece.highBit; bit++)
          cells[7 - bit] = piece.number || (STILL[piece.kind as keyof typeof STILL] ?? '');
      return [firstByte === lastByte ? `b${firstByte}` : `b${firstByte} to b${lastByte}`, ...cells];
    }),
  );
  return { kind: 'table', head: ['byte', '7', '6', '5', '4', '3', '2', '1', '0'], rows };
}
