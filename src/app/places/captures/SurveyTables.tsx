/** The survey as tables: all of it behind the threads, and the facts of the identifier that is held. */
import type { ReactNode } from 'react';
import { streamName } from '../../../frames/table.ts';
import { displayId } from '../../../kit/units.ts';
import type { SurveyFrame } from '../../../timing/types.ts';
import { ByMode } from '../../modes/ByMode.tsx';
import { count, percent } from '../../../kit/sheet-figures.ts';
import { keyOf, timingWords } from './survey-words.ts';

export function SurveyTable({ frames }: { frames: readonly SurveyFrame[] }): ReactNode {
  return (
    <table>
      <caption>Survey of the capture</caption>
      <thead>
        <tr>
          <th>bus</th>
          <th>identifier</th>
          <th>frames</th>
          <th>bytes</th>
          <th>timing</th>
          <th>jitter</th>
          <th>first, s</th>
          <th>last, s</th>
          <th>gaps</th>
        </tr>
      </thead>
      <tbody>
        {frames.map((frame) => (
          <tr key={streamName(keyOf(frame))}>
            <td>{frame.bus}</td>
            <td>
              {displayId(Number(frame.id), frame.extended)}
              {frame.direction === 'sent' ? ', sent by the logger' : ''}
            </td>
            <td>{count(frame.count)}</td>
            <td>{frame.length}</td>
            <td>{timingWords(frame)}</td>
            <td>{frame.timing.jitterMs === null ? '' : `${frame.timing.jitterMs.toFixed(2)} ms`}</td>
            <td>{frame.firstS.toFixed(3)}</td>
            <td>{frame.lastS.toFixed(3)}</td>
            <td>{frame.gaps.length}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What the selected identifier is, in a few figures, for the panel. */
export function ThreadFacts({ frame }: { frame: SurveyFrame }): ReactNode {
  const lengths = frame.lengths.map(({ length, count: n }) => `${length} (${percent(n / frame.count)})`).join(', ');
  return (
    <>
      <table className="list">
        <tbody>
          <tr>
            <td className="dim">frames</td>
            <td className="right">{count(frame.count)}</td>
          </tr>
          <tr>
            <td className="dim">timing</td>
            <td className="right">
              {timingWords(frame)}
              {frame.timing.jitterMs === null ? '' : `, jitter ${frame.timing.jitterMs.toFixed(2)} ms`}
            </td>
          </tr>
          <tr>
            <td className="dim">bytes</td>
            <td className="right">
              {frame.lengths.length > 1 ? lengths : frame.length}
              {frame.fd ? ', CAN FD' : ''}
            </td>
          </tr>
          <tr>
            <td className="dim">different payloads</td>
            <td className="right">
              {frame.distinctPayloads >= 65_536 ? '65,536 or more' : count(frame.distinctPayloads)}
            </td>
          </tr>
          <tr>
            <td className="dim">silences</td>
            <td className="right">{frame.gaps.length || 'none'}</td>
          </tr>
        </tbody>
      </table>
      <ByMode timing={frame.timing} />
    </>
  );
}
