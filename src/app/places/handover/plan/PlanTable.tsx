/** The table behind the drawing: each frame with what is known of it. */
import type { ReactNode } from 'react';
import type { PlannedFrame } from '../../../../handover/needs/types.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import { displayId } from '../../../../kit/units.ts';
import { period, value } from '../../../../kit/sheet-figures.ts';
import { NEED_WORDS, NeedGlyph } from './NeedGlyph.tsx';

export function PlanTable({ frames }: { frames: readonly PlannedFrame[] }): ReactNode {
  return (
    <div className="plan-scroll" tabIndex={0} role="region" aria-label="The plan as a table">
      <table className="list plan-table">
        <thead>
          <tr>
            <th>identifier</th>
            <th>sender</th>
            <th>needed</th>
            <th className="right">every</th>
            <th className="right">phase</th>
            <th className="right">after waking</th>
            <th>payload at rest</th>
            <th>can be produced</th>
          </tr>
        </thead>
        <tbody>
          {frames.map((planned) => (
            <Row key={frameKey(planned.frame)} planned={planned} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

const msWords = (ms: number | null): string => (ms === null ? '' : `${value(ms)} ms`);

function Row({ planned }: { planned: PlannedFrame }): ReactNode {
  const { frame, need, periodMs, phaseMs, firstAfterWakeMs, whyNotProduced } = planned;
  return (
    <tr>
      <td>
        <span className="mono">{displayId(Number(frame.id), frame.extended)}</span>{' '}
        <span className="dim">{frame.bus}</span>
      </td>
      <td>{frame.sender?.group ?? ''}</td>
      <td className="plan-need">
        <NeedGlyph need={need} /> {NEED_WORDS[need]}
      </td>
      <td className="right">{periodMs === null ? frame.timing.kind.replace('-', ' ') : period(periodMs)}</td>
      <td className="right">{msWords(phaseMs)}</td>
      <td className="right">{msWords(firstAfterWakeMs?.midMs ?? null)}</td>
      <td className="mono plan-payload">{frame.rest?.payload ?? <span className="dim">none recorded</span>}</td>
      <td className={whyNotProduced ? '' : 'dim'}>{whyNotProduced ?? 'yes'}</td>
    </tr>
  );
}
