/** Behind the weave stands its table: each thread's share set and its changes in view. */
import type { ReactNode } from 'react';
import type { WeavePicture } from '../../../jobs/engine-types.ts';
import type { Band } from '../../pictures/bands-model.ts';
import { foldWords, type WeaveLayout } from '../../pictures/weave-layout.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import { bandAt, shares } from './weave-words.ts';

export function WeaveTable({
  picture,
  layout,
  bands,
}: {
  picture: WeavePicture;
  layout: WeaveLayout;
  bands: readonly Band[];
}): ReactNode {
  return (
    <table>
      <caption>Threads in view</caption>
      <thead>
        <tr>
          <th>thread</th>
          <th>set</th>
          <th>changes</th>
          <th>field</th>
        </tr>
      </thead>
      <tbody>
        {layout.rows.map((row) => {
          const position = row.byte * 8 + (row.kind === 'thread' ? row.bit : 0);
          const share = shares(picture, position);
          return (
            <tr key={row.y}>
              <td>
                {row.kind === 'folded'
                  ? foldWords(row)
                  : row.kind === 'strip'
                    ? `byte ${row.byte}`
                    : `byte ${row.byte} bit ${row.bit}`}
              </td>
              <td>{share ? percent(share.set) : 'no frames'}</td>
              <td>{share ? percent(share.changed, 1) : ''}</td>
              <td>{bandAt(bands, position)?.name ?? ''}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
