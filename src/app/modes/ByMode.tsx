/** An identifier's timing in each mode, for the facts beside it. */
import type { ReactNode } from 'react';
import type { MapTiming } from '../../map/schema.ts';
import { jitter, period } from '../../kit/sheet-figures.ts';

type Paced = Pick<MapTiming, 'kind' | 'periodMs'>;
const PERIOD_SAME = 0.02;
const isSameTiming = (a: Paced, b: Paced): boolean =>
  a.kind === b.kind &&
  (a.periodMs === b.periodMs || Math.abs((a.periodMs ?? 0) / (b.periodMs ?? Infinity) - 1) < PERIOD_SAME);

/** Its timing in each operating state that was told apart; nothing where it is the same all the while. */
export function ByMode({ timing: whole }: { timing: MapTiming }): ReactNode {
  const modes = Object.entries(whole.byMode ?? {});
  if (modes.length === 0) return null;
  if (modes.every(([, timing]) => isSameTiming(timing, whole)))
    return (
      <p className="tiny dim by-mode">
        The same in all {modes.length} modes: {modes.map(([mode]) => mode).join(', ')}.
      </p>
    );
  return (
    <table className="list by-mode">
      <thead>
        <tr>
          <th>mode</th>
          <th className="right">period</th>
          <th className="right">jitter</th>
        </tr>
      </thead>
      <tbody>
        {modes.map(([mode, timing]) => (
          <tr key={mode}>
            <td>{mode}</td>
            <td className="right">{period(timing.periodMs)}</td>
            <td className="right">{timing.jitterMs === null ? '' : jitter(timing.jitterMs)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
