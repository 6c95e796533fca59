/** The agreement curve as a slider: dragged or clicked in the whole search and, finer, in the loupe; arrows step, Home takes the peak, End the runner-up. */
import { useMemo, useRef, useState, type KeyboardEvent, type PointerEvent, type ReactNode } from 'react';
import { errorOf, peakOf, runnerUpOf, searchedSpan, type ClockCurve } from '../pictures/agreement-model.ts';
import { agreementScene, CURVE_HEIGHT, LOUPE_HEIGHT, LOUPE_S, loupeScene } from '../pictures/agreement-scene.ts';
import { Picture } from '../surface/Picture.tsx';
import { fixed, signed } from '../../kit/sheet-figures.ts';
import './offset.css';

const STEP_S = 0.02;
const STRIDE_S = 1;

export interface OffsetPictureProps {
  /** "Agreement of marks and fields". */
  readonly title: string;
  readonly clock: ClockCurve;
  readonly heldS: number;
  readonly hold: (offsetS: number) => void;
}

const hundredths = (s: number): number => Math.round(s * 100) / 100;

export function OffsetPicture({ title, clock, heldS, hold }: OffsetPictureProps): ReactNode {
  const span = searchedSpan(clock);
  const [middleS, setMiddle] = useState<number | null>(null);
  const centreS = middleS ?? heldS;
  const whole = useMemo(() => agreementScene(clock, heldS), [clock, heldS]);
  const loupe = useMemo(() => loupeScene(clock, heldS, centreS), [clock, heldS, centreS]);
  if (!span) return null;
  const onKeyDown = (event: KeyboardEvent): void => {
    const to = offsetByKey(event, clock, heldS);
    if (to === null) return;
    event.preventDefault();
    event.stopPropagation();
    hold(hundredths(Math.min(span.toS, Math.max(span.fromS, to))));
  };
  const error = errorOf(clock);
  return (
    <div className="offset-picture">
      <h3>{title}</h3>
      <div
        role="slider"
        tabIndex={0}
        aria-label={`${title}: offset in seconds`}
        aria-valuemin={span.fromS}
        aria-valuemax={span.toS}
        aria-valuenow={heldS}
        aria-valuetext={`${signed(heldS, 2)} seconds`}
        className="offset-slider"
        onKeyDown={onKeyDown}
      >
        <Drawn span={span} hold={hold}>
          <Picture label="" height={CURVE_HEIGHT} scene={whole} />
        </Drawn>
        <Drawn
          span={{ fromS: centreS - LOUPE_S, toS: centreS + LOUPE_S }}
          hold={hold}
          onHeld={(isHeld) => setMiddle(isHeld ? heldS : null)}
        >
          <Picture label="" height={LOUPE_HEIGHT} scene={loupe} />
        </Drawn>
      </div>
      <p className="tiny dim">
        Offset tried, in seconds (not the time ruler); below, near the one held
        {error === null ? '' : `, with the band of ± ${fixed(error, 2)} s`}. Drag to set it
        <span className="offset-keys">
          , or <kbd>←</kbd> <kbd>→</kbd>, with <kbd>Shift</kbd> by 1 s; <kbd>Home</kbd> the peak, <kbd>End</kbd> the
          runner-up
        </span>
        .
      </p>
      <CurveTable clock={clock} />
    </div>
  );
}

function offsetByKey(event: KeyboardEvent, clock: ClockCurve, heldS: number): number | null {
  const step = event.shiftKey ? STRIDE_S : STEP_S;
  if (event.ctrlKey || event.altKey || event.metaKey) return null;
  if (event.key === 'ArrowLeft' || event.key === 'ArrowDown') return heldS - step;
  if (event.key === 'ArrowRight' || event.key === 'ArrowUp') return heldS + step;
  if (event.key === 'Home') return clock.seS === null ? (peakOf(clock)?.offsetS ?? null) : clock.offsetS;
  if (event.key === 'End') return runnerUpOf(clock)?.offsetS ?? null;
  return null;
}

interface DrawnProps {
  readonly span: { readonly fromS: number; readonly toS: number };
  readonly hold: (offsetS: number) => void;
  readonly onHeld?: (isHeld: boolean) => void;
  readonly children: ReactNode;
}

/** A press or a drag in the picture sets the offset under the pointer. */
function Drawn({ span, hold, onHeld, children }: DrawnProps): ReactNode {
  const pressed = useRef<number | null>(null);
  const take = (event: PointerEvent<HTMLElement>): void => {
    const box = event.currentTarget.getBoundingClientRect();
    const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
    hold(hundredths(span.fromS + share * (span.toS - span.fromS)));
  };
  const end = (): void => {
    pressed.current = null;
    onHeld?.(false);
  };
  return (
    <div
      className="offset-drawn"
      onPointerDown={(event) => {
        if (event.button !== 0) return;
        event.currentTarget.setPointerCapture(event.pointerId);
        pressed.current = event.pointerId;
        onHeld?.(true);
        take(event);
      }}
      onPointerMove={(event) => pressed.current === event.pointerId && take(event)}
      onPointerUp={end}
      onPointerCancel={end}
    >
      {children}
    </div>
  );
}

/** The best offsets, for those who cannot see the curve. */
function CurveTable({ clock }: { clock: ClockCurve }): ReactNode {
  const { offsetS = [], agreement = [] } = clock.curve ?? {};
  const best = offsetS
    .map((s, i) => [s, agreement[i] as number] as const)
    .sort((a, b) => b[1] - a[1])
    .slice(0, 5);
  const runnerUp = runnerUpOf(clock);
  return (
    <table className="unseen">
      <caption>
        Offsets that agree best; chance reaches {clock.chance?.toFixed(2) ?? 'unknown'} once in a thousand
        {runnerUp && `; the runner-up is at ${signed(runnerUp.offsetS, 1)} s with ${runnerUp.agreement.toFixed(2)}`}
      </caption>
      <tbody>
        {best.map(([s, a]) => (
          <tr key={s}>
            <td>{signed(s, 2)} s</td>
            <td>{a.toFixed(2)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
