/** Behind the loom stands its table: the same rows, read out by screen readers. */
import type { ReactNode } from 'react';
import { strandsOf, type Loom } from '../../../timing/loom/model.ts';
import { jitter, period } from '../../../kit/sheet-figures.ts';
import { senderWords } from './strand-words.ts';

export function LoomTable({ loom }: { loom: Loom }): ReactNode {
  const titles = new Map(
    loom.buses.flatMap(({ branches }) => branches.map(({ group, title }) => [group, title] as const)),
  );
  return (
    <table>
      <caption>Identifiers by bus and sender</caption>
      <thead>
        <tr>
          <th>bus</th>
          <th>sender</th>
          <th>identifier</th>
          <th>name</th>
          <th>period</th>
          <th>jitter</th>
        </tr>
      </thead>
      <tbody>
        {strandsOf(loom).map((strand) => (
          <tr key={strand.key}>
            <td>{strand.stream.bus}</td>
            <td>
              {senderWords(strand)}
              {strand.group ? ` (${titles.get(strand.group) ?? ''})` : ''}
            </td>
            <td>{strand.shownId}</td>
            <td>{strand.name}</td>
            <td>{strand.periodMs === null ? strand.timingWords : period(strand.periodMs)}</td>
            <td>{strand.periodMs === null ? '' : jitter(strand.jitterMs)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
