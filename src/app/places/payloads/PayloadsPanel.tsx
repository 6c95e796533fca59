/** The panel of Payloads: fields at their threads, what is held, and who answers. */
import { useEffect, useRef, type FocusEvent, type ReactNode } from 'react';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useActionsShown } from './actions-shown.ts';
import { FieldsPanel } from './FieldsPanel.tsx';
import { GuardPart } from './GuardPart.tsx';
import { HeldPart } from './HeldPart.tsx';
import { useHeld, type Held } from './held.ts';
import { HEAD_HEIGHT, useWeaveLayout, useWide } from './layout.ts';
import { NOT_READ } from './Nothing.tsx';
import { FindingState, RespondersPanel } from './RespondersPanel.tsx';
import { SameValuePart } from './SameValuePart.tsx';

export function PayloadsPanel(): ReactNode {
  const held = useHeld();
  const layout = useWeaveLayout(held);
  const wide = useWide();
  const shown = useActionsShown();
  const current = useCurrentCapture();
  const root = useScrollTogether(wide);
  if (!current || held.identifiers.length === 0 || NOT_READ[current.open.phase]) return null;
  return (
    <div ref={root} className="payloads-panel">
      <div className="payloads-standing" onFocus={uncover}>
        <FieldsHead held={held} wide={wide} />
        {held.findings && held.bands.length === 0 && (
          <p className="small dim">No field is proposed: no bit of this payload moves.</p>
        )}
        <FieldsPanel held={held} layout={layout} aligned={wide} />
      </div>
      <div className="payloads-over">
        <HeldPart held={held} layout={layout} aligned={wide} />
        <GuardPart held={held} />
        <SameValuePart held={held} />
        <RespondersPanel shown={shown} />
      </div>
    </div>
  );
}

/** In the head's line, so that labels stay at their threads while fields are found again. */
function FieldsHead({ held, wide }: { held: Held; wide: boolean }): ReactNode {
  const { slot, outdated } = held.fields;
  const busy = outdated || (slot !== null && slot.state !== 'done');
  return (
    <div className="payloads-fields-head tiny dim" style={wide ? { height: HEAD_HEIGHT - 4 } : undefined}>
      <span>fields</span>
      {busy ? <FindingState finding={held.fields} /> : <span>a wedge is broad at the most significant bit</span>}
    </div>
  );
}

/** How far the sheet scrolls, for the style of what stands at its threads. */
const SHEET_GOES = '--sheet-goes';

/** The rest of the panel slides over the labels: who comes to them by keyboard sees them all. */
function uncover({ currentTarget, target }: FocusEvent<HTMLElement>): void {
  const panel = currentTarget.closest<HTMLElement>('.panel');
  if (!panel || !target.matches(':focus-visible')) return;
  const sheetGoes = Number.parseFloat(getComputedStyle(currentTarget).getPropertyValue(SHEET_GOES)) || 0;
  panel.scrollTop = Math.min(panel.scrollTop, sheetGoes);
}

/** Labels stand at their threads: they scroll with the sheet as far as it goes, and no farther. */
function useScrollTogether(wide: boolean): React.RefObject<HTMLDivElement | null> {
  const root = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const panel = root.current?.closest<HTMLElement>('.panel');
    const sheet = panel?.parentElement?.querySelector<HTMLElement>('.place-scroll');
    if (!wide || !panel || !sheet) return;
    const measure = (): void =>
      root.current?.style.setProperty(SHEET_GOES, `${sheet.scrollHeight - sheet.clientHeight}px`);
    const watch = new ResizeObserver(measure);
    for (const element of [sheet, sheet.firstElementChild]) if (element) watch.observe(element);
    // One leads at a time; the other cannot always go as far, and must not pull back.
    let led: HTMLElement | null = null;
    const follow = (from: HTMLElement, to: HTMLElement) => (): void => {
      if (led === from) {
        led = null;
        return;
      }
      const before = to.scrollTop;
      to.scrollTop = from.scrollTop;
      if (to.scrollTop !== before) led = to;
    };
    const [down, up] = [follow(sheet, panel), follow(panel, sheet)];
    sheet.addEventListener('scroll', down);
    panel.addEventListener('scroll', up);
    return () => {
      watch.disconnect();
      sheet.removeEventListener('scroll', down);
      panel.removeEventListener('scroll', up);
    };
  }, [wide]);
  return root;
}
