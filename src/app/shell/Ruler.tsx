/** The ruler: the graduated border of the sheet. Bars and figures of the span in view, and under them all of the capture with brackets round the view. */
import { useShallow } from 'zustand/react/shallow';
import { useCallback, useContext, useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import type { LoadPicture } from '../../jobs/engine-types.ts';
import { overviewScene, rulerScene, OVERVIEW_HEIGHT, RULER_HEIGHT } from '../pictures/ruler.ts';
import { useRulerMarks, useSurvey } from '../stores/asking.ts';
import { LookedAt, useCurrentCapture, useReadyEngine } from '../stores/finding.ts';
import { useDossier } from '../stores/dossier.ts';
import { useQuestion } from '../stores/questions.ts';
import { isWhole, useView } from '../stores/view.ts';
import { Picture } from '../surface/Picture.tsx';
import { clock } from '../../kit/sheet-figures.ts';
import { timeScale, useTimeScale } from './time-scale.ts';
import { useTimeGestures, useWheel } from './TimeSheet.tsx';
import { useNarrow } from './use-narrow.ts';

export function Ruler(): ReactNode {
  return (
    <footer className="ruler" aria-label="Time ruler">
      <RulerWords />
      <RulerTime />
      <div className="ruler-keys" aria-hidden="true">
        <div className="line-of dim">
          <span>
            <kbd>←</kbd> <kbd>→</kbd> step
          </span>
          <span>
            <kbd>+</kbd> <kbd>−</kbd> zoom
          </span>
          <span>
            <kbd>0</kbd> all
          </span>
          <span>
            <kbd>M</kbd> mark
          </span>
          <span>
            <kbd>?</kbd> keys
          </span>
        </div>
        <RulerNote />
      </div>
    </footer>
  );
}

function RulerNote(): ReactNode {
  const reading = useCurrentCapture()?.open.phase === 'reading';
  const looksElsewhere = useContext(LookedAt) !== null;
  if (reading) return <p>While reading, the view is all of it</p>;
  return (
    <p>{looksElsewhere ? 'This capture keeps a cursor and view of its own' : 'Same cursor and view in every place'}</p>
  );
}

function RulerWords(): ReactNode {
  const view = useView();
  const current = useCurrentCapture();
  const reading = current?.open.phase === 'reading';
  const nothing = !current || (!current.open.summary && !reading && current.entry.marks.length === 0);
  if (nothing)
    return (
      <div className="ruler-words">
        <p style={{ paddingTop: 4 }}>no time yet: nothing is open</p>
      </div>
    );
  const digits = view.window.toS - view.window.fromS < 2 ? 3 : 1;
  const span = isWhole(view)
    ? 'view: all of it'
    : `view ${clock(view.window.fromS, digits)} to ${clock(view.window.toS, digits)}`;
  return (
    <div className="ruler-words">
      <span className={`figure ${view.cursorS === null ? '' : 'held'}`}>
        {clock(view.cursorS ?? (reading ? (current?.open.progress?.reachedS ?? 0) : view.domain.toS))}
      </span>
      <p>{view.cursorS === null ? (reading ? 'read so far' : 'in all; click to set a cursor') : 'cursor'}</p>
      <p>{span}</p>
    </div>
  );
}

function RulerTime(): ReactNode {
  const time = useRef<HTMLDivElement>(null);
  const gesture = useTimeGestures(time);
  useWheel(time, time);
  const cursorS = useView((view) => view.cursorS);
  const domain = useView((view) => view.domain);
  const scale = useTimeScale();
  const narrow = useNarrow();
  const drawn = useCallback<Parameters<typeof Picture>[0]['scene']>(
    (surface, palette) => rulerScene({ window: scale, cursorS, named: narrow })(surface, palette),
    [scale, cursorS, narrow],
  );
  const onKeyDown = (event: KeyboardEvent): void => {
    const view = useView.getState();
    if (event.key !== 'Home' && event.key !== 'End') return;
    event.preventDefault();
    const atS = event.key === 'Home' ? view.domain.fromS : view.domain.toS;
    view.setCursor(atS);
    view.reveal(atS);
  };
  return (
    <div
      ref={time}
      className="ruler-time"
      role="slider"
      tabIndex={0}
      aria-label="Cursor"
      aria-valuemin={domain.fromS}
      aria-valuemax={domain.toS}
      aria-valuenow={cursorS ?? domain.fromS}
      aria-valuetext={cursorS === null ? 'no cursor set' : clock(cursorS)}
      onKeyDown={onKeyDown}
      {...gesture}
    >
      <Picture label="Time in view" height={RULER_HEIGHT} scene={drawn} />
      <Overview />
    </div>
  );
}

/** All of the capture; click or drag in it moves the view there. */
function Overview(): ReactNode {
  const ready = useReadyEngine();
  const current = useCurrentCapture();
  const rates = useDossier(({ dossier }) => dossier.rates);
  const survey = useSurvey().value;
  const { window, domain, cursorS, timeWidth } = useView(
    useShallow((view) => ({
      window: view.window,
      domain: view.domain,
      cursorS: view.cursorS,
      timeWidth: view.timeWidth,
    })),
  );
  const { marks, actions } = useRulerMarks();
  const columns = Math.max(1, Math.floor(timeWidth / 2));
  const key =
    ready && timeWidth ? `${ready.identity}/overview/${domain.toS}/${columns}/${JSON.stringify(rates)}` : null;
  const load = useQuestion<LoadPicture>(key, () =>
    (ready as NonNullable<typeof ready>).engine.load({ fromS: domain.fromS, toS: domain.toS, columns }, rates),
  );
  const gaps = useMemo(() => commonGaps(survey?.buses.map((bus) => bus.gaps) ?? []), [survey]);
  const steps = current?.open.phase === 'reading' ? current.open.steps : null;
  const scene = useMemo(
    () =>
      overviewScene({
        domain,
        window,
        cursorS,
        load: ready ? load.value : null,
        steps,
        marks,
        actions,
        gaps,
        trim: current?.entry.trim ?? null,
      }),
    [domain, window, cursorS, load.value, ready, steps, marks, actions, gaps, current?.entry.trim],
  );
  const move = (event: React.PointerEvent): void => {
    const box = event.currentTarget.getBoundingClientRect();
    const view = useView.getState();
    const atS = timeScale(view.domain, box.width).at(event.clientX - box.left);
    const half = (view.window.toS - view.window.fromS) / 2;
    view.setWindow(atS - half, atS + half);
  };
  return (
    <div
      data-grip
      style={{ cursor: isWhole({ window, domain }) ? 'default' : 'grab' }}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        move(event);
      }}
      onPointerMove={(event) => event.buttons === 1 && move(event)}
    >
      <Picture label="All of the capture" height={OVERVIEW_HEIGHT} scene={scene} />
    </div>
  );
}

/** Silences that all buses share. */
function commonGaps(gaps: readonly (readonly { fromS: number; toS: number }[])[]): { fromS: number; toS: number }[] {
  const [first, ...others] = gaps;
  return others.reduce<{ fromS: number; toS: number }[]>(
    (common, next) =>
      common.flatMap((a) =>
        next
          .map((b) => ({ fromS: Math.max(a.fromS, b.fromS), toS: Math.min(a.toS, b.toS) }))
          .filter(({ fromS, toS }) => toS > fromS),
      ),
    [...(first ?? [])],
  );
}
