/**
 * The modes as a band on the time column. One stop for the keyboard: arrows walk from span to span, Enter shows the held one alone, Esc lets
 * go. Under the band what each shape means, and why the held span is what it is said to be.
 */
import { useMemo, type KeyboardEvent, type ReactNode } from 'react';
import type { ModeSpan } from '../../timing/types.ts';
import { modesScene, modeSwatch, MODES_HEIGHT } from '../pictures/modes-scene.ts';
import { Row } from '../shell/TimeSheet.tsx';
import { useTimeScale, type TimeScale } from '../shell/time-scale.ts';
import { useSurvey } from '../stores/asking.ts';
import { isWhole, useView } from '../stores/view.ts';
import { Picture } from '../surface/Picture.tsx';
import { plural } from '../../kit/sheet-figures.ts';
import './modes.css';
import { inView, modesIn, spanWords, stepTo, viewOf } from './spans.ts';
import { holdMode, useHeldMode } from './store.ts';

export function ModesRow(): ReactNode {
  const spans = useSurvey().value?.modes ?? NONE;
  if (spans.length === 0) return null;
  return <Band spans={spans} />;
}
const NONE: readonly ModeSpan[] = [];

function Band({ spans }: { spans: readonly ModeSpan[] }): ReactNode {
  const window = useView((view) => view.window);
  const scale = useTimeScale();
  const heldFromS = useHeldMode(({ fromS }) => fromS);
  const place = spans.findIndex(({ fromS }) => fromS === heldFromS);
  const held = place < 0 ? null : place;
  const scene = useMemo(() => modesScene(spans, window), [spans, window]);
  const modes = modesIn(spans);
  const span = held === null ? undefined : spans[held];
  return (
    <Row
      className="modes-row"
      label={
        <span className="modes-label">
          <span className="dim">modes</span> <span className="tiny dimmer">{plural(spans.length, 'span')}</span>
        </span>
      }
    >
      <div
        className="modes-band"
        role="listbox"
        aria-orientation="horizontal"
        tabIndex={0}
        aria-label={`Modes of the vehicle, ${plural(spans.length, 'span')}: arrows walk, Enter shows one alone`}
        aria-activedescendant={held === null ? undefined : idOf(held)}
        onKeyDown={(event) => onKey(event, held, spans)}
      >
        <Picture label="" height={MODES_HEIGHT} scene={scene} />
        {spans.map((each, at) => (
          <Grip
            key={each.fromS}
            span={each}
            id={idOf(at)}
            isHeld={at === held}
            scale={scale}
            onHold={() => hold(at === held ? null : at, spans)}
          />
        ))}
      </div>
      <Legend modes={modes} />
      {span && <Why span={span} />}
    </Row>
  );
}

const idOf = (place: number): string => `mode-span-${place}`;

function hold(place: number | null, spans: readonly ModeSpan[]): void {
  const span = place === null ? undefined : spans[place];
  holdMode(span ? span.fromS : null);
  if (!span) return;
  const view = useView.getState();
  view.setCursor(span.fromS);
  if (inView([span], view.window).length === 0) view.reveal((span.fromS + span.toS) / 2);
}

function showAlone(span: ModeSpan): void {
  const { fromS, toS } = viewOf(span);
  useView.getState().setWindow(fromS, toS);
}

function onKey(event: KeyboardEvent, held: number | null, spans: readonly ModeSpan[]): void {
  if (event.shiftKey || event.ctrlKey || event.metaKey || event.altKey) return;
  const span = held === null ? undefined : spans[held];
  const to = stepTo(event.key, held, spans, useView.getState().window);
  if (to !== null) hold(to, spans);
  else if (event.key === 'Enter' && span) showAlone(span);
  else if (event.key === 'Escape' && span) hold(null, spans);
  else return;
  event.preventDefault();
}

/** Narrower than this nothing can be pointed at. */
const GRIP_LEAST = 8;
const LETTER_WIDTH = 6.4;

interface GripProps {
  readonly span: ModeSpan;
  readonly id: string;
  readonly isHeld: boolean;
  readonly scale: TimeScale;
  onHold(): void;
}

/** All of them are there for who listens; those out of view have no size. */
function Grip({ span, id, isHeld, scale, onHold }: GripProps): ReactNode {
  const [left, right] = [Math.max(0, scale.x(span.fromS)), Math.min(scale.width, scale.x(span.toS))];
  const isSeen = right > 0 && left < scale.width;
  const width = Math.max(GRIP_LEAST, right - left);
  const hasRoom = isSeen && right - left > span.mode.length * LETTER_WIDTH + 12;
  return (
    <div
      id={id}
      role="option"
      aria-selected={isHeld}
      aria-label={`${spanWords(span)}: ${span.why}`}
      className={isHeld ? 'modes-grip held' : 'modes-grip'}
      data-grip
      hidden={!isSeen}
      style={{ left: right - left < GRIP_LEAST ? (left + right - GRIP_LEAST) / 2 : left, width }}
      onClick={onHold}
      onDoubleClick={() => showAlone(span)}
    >
      {hasRoom && <span>{span.mode}</span>}
      {isHeld && (
        <>
          <i className="bracket from" />
          <i className="bracket to" />
        </>
      )}
    </div>
  );
}

function Legend({ modes }: { modes: readonly string[] }): ReactNode {
  return (
    <ul className="modes-legend tiny dim">
      {modes.map((mode) => (
        <Sample key={mode} mode={mode} />
      ))}
    </ul>
  );
}

function Sample({ mode }: { mode: string }): ReactNode {
  const scene = useMemo(() => modeSwatch(mode), [mode]);
  return (
    <li>
      <span className="modes-swatch">
        <Picture label="" height={14} scene={scene} />
      </span>
      {mode}
    </li>
  );
}

/** Why the held span is said to be what it is, and the way to it and back. */
function Why({ span }: { span: ModeSpan }): ReactNode {
  const view = useView();
  const { fromS, toS } = viewOf(span);
  const isAlone = Math.abs(view.window.fromS - Math.max(fromS, view.domain.fromS)) < 0.01 * (toS - fromS);
  return (
    <p className="modes-why small">
      <b>{spanWords(span)}</b> <span className="inferred dim">{span.why}</span>{' '}
      {!isAlone && (
        <button type="button" className="button plain small" onClick={() => showAlone(span)}>
          Show it alone
        </button>
      )}
      {!isWhole(view) && (
        <button type="button" className="button plain small" onClick={() => useView.getState().all()}>
          Show all
        </button>
      )}
    </p>
  );
}
