/** On a phone: a big button an action. Without a recording, hold it for a span and tap it for an instant; with one it marks at the cursor. */
import { useRef, type ReactNode } from 'react';
import { swatchScene } from '../../pictures/marks.ts';
import type { RulerMarks } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { Picture } from '../../surface/Picture.tsx';
import { markHeld, markNow, nowS } from './commands.ts';
import { useMarksPlace } from './store.ts';

const HOLD_S = 0.4;

export function ActionButtons({ ruler }: { ruler: RulerMarks }): ReactNode {
  const recorded = useCurrentCapture()?.open.phase === 'ready';
  const pressedAt = useRef(0);
  if (!ruler.actions.length) return null;
  return (
    <section className="action-buttons" aria-label="Actions to mark">
      <p className="small dim">
        {recorded
          ? 'Marks at the cursor; the second press ends it.'
          : 'Hold a button for a span, tap it for an instant.'}
      </p>
      <div>
        {ruler.actions.map((action, index) => (
          <button
            key={action}
            type="button"
            className="action-button"
            onPointerDown={() => {
              pressedAt.current = nowS();
            }}
            onClick={(event) => {
              const lastedS = nowS() - pressedAt.current;
              if (!recorded && event.detail > 0 && lastedS > HOLD_S) markHeld(action, pressedAt.current, nowS());
              else markNow(action, ruler);
            }}
            onContextMenu={(event) => event.preventDefault()}
          >
            <Swatch index={index} />
            {action}
          </button>
        ))}
        <button
          type="button"
          className="action-button inferred"
          onClick={() => document.getElementById('new-action')?.focus()}
        >
          something else
        </button>
        <button type="button" className="action-button" onClick={() => useMarksPlace.getState().setRunCard('plan')}>
          Run card
        </button>
      </div>
    </section>
  );
}

function Swatch({ index }: { index: number }): ReactNode {
  const scene = useRef(swatchScene(index));
  return (
    <span className="swatch">
      <Picture label="" height={16} scene={scene.current} />
    </span>
  );
}
