/** Bars of delays by sender hue on one axis; each row says its figures to those who cannot see it. */
import './delays.css';
import { useMemo, type ReactNode } from 'react';
import { count, value } from '../../../kit/sheet-figures.ts';
import { groupStyle, isHueRepeated } from '../../../kit/drawing/palette.ts';
import { delayAxis, placeOn, type DelayAxis, type DelayRow } from './delays.ts';

const percentOf = (share: number): string => `${(share * 100).toFixed(2)}%`;

export function DelayBars({ rows, label }: { rows: readonly DelayRow[]; label: string }): ReactNode {
  const axis = useMemo(() => delayAxis(rows), [rows]);
  return (
    <div className="delay-bars">
      <ol aria-label={label}>
        {rows.map((row) => (
          <Row key={row.key} row={row} axis={axis} />
        ))}
      </ol>
      <div className="delay-axis" aria-hidden="true">
        {axis.ticks.map((tick) => (
          <span key={tick} style={{ left: percentOf(placeOn(axis, tick)) }}>
            {count(tick)}
          </span>
        ))}
      </div>
    </div>
  );
}

const spanWords = ({ lowMs, highMs, midMs }: DelayRow): string => {
  const span = lowMs === highMs ? `${value(lowMs)} ms` : `${value(lowMs)} to ${value(highMs)} ms`;
  return midMs === null || lowMs === highMs ? span : `${span}, half of them by ${value(midMs)} ms`;
};

function Row({ row, axis }: { row: DelayRow; axis: DelayAxis }): ReactNode {
  const [from, to] = [placeOn(axis, row.lowMs), placeOn(axis, row.highMs)];
  const hue = groupStyle(row.group, 'var(--ink-2)');
  const words = `${spanWords(row)}${row.seen ? `, ${row.seen}` : ''}`;
  return (
    <li title={`${row.label}: ${words}`}>
      <span className={`delay-label ${row.inferred ? 'inferred' : ''}`}>
        <i
          className={`delay-hue ${isHueRepeated(row.group) ? 'repeated' : ''}`}
          style={{ borderColor: hue }}
          aria-hidden="true"
        />
        <span>{row.label}</span>
        {row.group && <span className="unseen">, sender {row.group}</span>}
      </span>
      <span className="delay-track" aria-hidden="true">
        {axis.ticks.map((tick) => (
          <i key={tick} className="delay-tick" style={{ left: percentOf(placeOn(axis, tick)) }} />
        ))}
        <i className="delay-bar" style={{ left: percentOf(from), width: percentOf(to - from), background: hue }} />
        {row.midMs !== null && <i className="delay-mid" style={{ left: percentOf(placeOn(axis, row.midMs)) }} />}
      </span>
      <span className="unseen">: {words}</span>
    </li>
  );
}
