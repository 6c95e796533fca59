/** In the gutter beside the threads: bytes, and bits 7 and 0 of each where there is room. */
import type { ReactNode } from 'react';
import type { WeaveLayout } from '../../pictures/weave-layout.ts';

const ROOM_FOR_BITS = 30;

export function ThreadLabels({ layout }: { layout: WeaveLayout }): ReactNode {
  return (
    <svg className="payloads-threads" width="100%" height={layout.height} aria-hidden="true">
      {byteLabels(layout).map(({ words, top, height, bits }) => (
        <g key={top}>
          <text className="byte" x={bits ? '86%' : '100%'} y={top + height / 2 + 4}>
            {words}
          </text>
          {bits && (
            <>
              <text className="bit" x="100%" y={top + 8.5}>
                7
              </text>
              <text className="bit" x="100%" y={top + height - 1}>
                0
              </text>
            </>
          )}
        </g>
      ))}
    </svg>
  );
}

interface ByteLabel {
  readonly words: string;
  readonly top: number;
  readonly height: number;
  readonly bits: boolean;
}

function byteLabels(layout: WeaveLayout): ByteLabel[] {
  const labels: ByteLabel[] = [];
  for (const row of layout.rows) {
    if (row.kind === 'thread' && row.bit === 7)
      labels.push({
        words: `byte ${row.byte}`,
        top: row.y,
        height: row.height * 8,
        bits: row.height * 8 >= ROOM_FOR_BITS,
      });
    else if (row.kind === 'strip')
      labels.push({ words: `byte ${row.byte}`, top: row.y - 2, height: row.height + 4, bits: false });
  }
  return labels;
}
