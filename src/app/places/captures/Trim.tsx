/** Two handles that say which part of the capture counts; what lies outside is paled, not lost. */
import type { KeyboardEvent, PointerEvent, ReactNode } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import { timeScale, useTimeScale } from '../../shell/time-scale.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier, withCapture } from '../../stores/dossier.ts';
import { useView, type Span } from '../../stores/view.ts';
import { clock } from '../../../kit/sheet-figures.ts';

const SHORTEST_S = 0.01;

function setTrim(id: string, trim: Span | null, strand?: string): void {
  useDossier
    .getState()
    .change(
      'trim',
      (dossier) => withCapture(dossier, id, (entry): DossierCapture => ({ ...entry, trim: trim && { ...trim } })),
      strand,
    );
}

export function Trim(): ReactNode {
  const current = useCurrentCapture();
  const scale = useTimeScale();
  const lastsS = current?.open.summary?.durationS;
  if (!current || lastsS === undefined) return null;
  const trim = current.entry.trim ?? { fromS: 0, toS: lastsS };
  const percentOf = (atS: number): number => Math.min(100, Math.max(0, (scale.x(atS) / (scale.width || 1)) * 100));
  return (
    <div className="trim past-gutter">
      <span className="trim-pale" style={{ left: 0, width: `${percentOf(trim.fromS)}%` }} />
      <span className="trim-pale" style={{ left: `${percentOf(trim.toS)}%`, right: 0 }} />
      <Handle id={current.entry.id} edge="fromS" trim={trim} lastsS={lastsS} />
      <Handle id={current.entry.id} edge="toS" trim={trim} lastsS={lastsS} />
      {current.entry.trim && (
        <p
          className="trim-words tiny dim"
          style={
            percentOf(trim.fromS) < 60
              ? { left: `calc(${percentOf(trim.fromS)}% + 18px)` }
              : { right: `calc(${100 - percentOf(trim.fromS)}% + 8px)` }
          }
        >
          keeps {clock(trim.fromS, 1)} to {clock(trim.toS, 1)}{' '}
          <button type="button" className="button plain tiny" onClick={() => setTrim(current.entry.id, null)}>
            keep all
          </button>
        </p>
      )}
    </div>
  );
}

interface HandleProps {
  readonly id: string;
  readonly edge: 'fromS' | 'toS';
  readonly trim: Span;
  readonly lastsS: number;
}

function Handle({ id, edge, trim, lastsS }: HandleProps): ReactNode {
  const scale = useTimeScale();
  const atS = trim[edge];
  const x = scale.x(atS);
  if (x < -1 || x > scale.width + 1) return null;
  const move = (toS: number, strand?: string): void => {
    const bounded =
      edge === 'fromS'
        ? Math.min(Math.max(0, toS), trim.toS - SHORTEST_S)
        : Math.max(Math.min(lastsS, toS), trim.fromS + SHORTEST_S);
    const next = { ...trim, [edge]: bounded };
    setTrim(id, next.fromS <= 0 && next.toS >= lastsS ? null : next, strand);
  };
  const onPointerMove = (event: PointerEvent<HTMLElement>): void => {
    if (!event.currentTarget.hasPointerCapture(event.pointerId)) return;
    const box = event.currentTarget.parentElement?.getBoundingClientRect();
    if (box)
      move(
        timeScale(useView.getState().window, box.width).at(event.clientX - box.left),
        `trim-${id}-${edge}-${event.pointerId}`,
      );
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    const step = (scale.toS - scale.fromS) / (event.shiftKey ? 10 : 100);
    const by = { ArrowLeft: -step, ArrowRight: step }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    move(atS + by, `trim-${id}-${edge}`);
  };
  const words = edge === 'fromS' ? 'Keep from' : 'Keep until';
  return (
    <div
      data-grip
      className={`trim-handle ${edge}`}
      role="slider"
      tabIndex={0}
      aria-label={words}
      aria-valuemin={0}
      aria-valuemax={lastsS}
      aria-valuenow={atS}
      aria-valuetext={clock(atS, 1)}
      title={`${words} ${clock(atS, 1)}: drag, or arrows`}
      style={{ left: `${(x / (scale.width || 1)) * 100}%` }}
      onPointerDown={(event) => event.currentTarget.setPointerCapture(event.pointerId)}
      onPointerMove={onPointerMove}
      onKeyDown={onKeyDown}
    >
      <svg width="12" height="14" viewBox="0 0 12 14" aria-hidden="true">
        <path d={edge === 'fromS' ? 'M0 0h11v12h-11z' : 'M12 0h-11v12h11z'} fill="var(--ink)" />
      </svg>
    </div>
  );
}
