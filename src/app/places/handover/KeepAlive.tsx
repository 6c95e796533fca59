/** The keep-alive plan drawn as a table: what the part may wait for, how often, and whether it can be produced. */
import type { ReactNode } from 'react';
import { whyNotSent } from '../../../handover/encode-choice.ts';
import { neededFrames } from '../../../handover/keep-alive.ts';
import type { MapFrame, SignalMap } from '../../../map/schema.ts';
import { displayId } from '../../../kit/units.ts';
import { period } from '../../../kit/sheet-figures.ts';

export function KeepAlive({ map }: { map: SignalMap }): ReactNode {
  const frames = neededFrames(map);
  return (
    <table className="list handover-plan">
      <thead>
        <tr>
          <th>identifier</th>
          <th>needed</th>
          <th className="right">every</th>
          <th>payload at rest</th>
          <th>can be produced</th>
        </tr>
      </thead>
      <tbody>
        {frames.map((frame) => (
          <tr key={`${frame.bus} ${frame.id} ${frame.extended}`}>
            <td>
              <span className="mono">{displayId(Number(frame.id), frame.extended)}</span>{' '}
              <span className="dim">{frame.bus}</span>
            </td>
            <td>
              <Need frame={frame} />
            </td>
            <td className="right">{period(frame.timing.periodMs)}</td>
            <td className="mono">{frame.rest?.payload ?? <span className="dim">none recorded</span>}</td>
            <td className={whyNotSent(frame) ? '' : 'dim'}>{whyNotSent(frame) ?? 'yes'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Required: a solid square; untested: a dashed one; not required: a short dash. */
function Need({ frame }: { frame: MapFrame }): ReactNode {
  const { verdict } = frame.need;
  return (
    <span className="handover-need">
      <svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
        {verdict === 'required' && <rect x="1" y="1" width="10" height="10" fill="var(--ink)" />}
        {verdict === 'untested' && (
          <rect x="1.5" y="1.5" width="9" height="9" fill="none" stroke="var(--ink-3)" strokeDasharray="2 1.6" />
        )}
        {verdict === 'not-required' && <line x1="3" x2="9" y1="6" y2="6" stroke="var(--ink-3)" />}
      </svg>{' '}
      {verdict.replace('-', ' ')}
    </span>
  );
}
