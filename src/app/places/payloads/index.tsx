/** Payloads: what moves? */
import './payloads.css';
import { useEffect, useMemo, useRef, type ReactNode } from 'react';
import { displayId } from '../../../kit/units.ts';
import { useCurrentCapture, useFields } from '../../stores/asking.ts';
import type { CapturePhase } from '../../stores/captures.ts';
import { useView } from '../../stores/view.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { percent, plural } from '../../words/format.ts';
import type { PlaceDefinition } from '../place.ts';
import { NameDialog } from '../signals/NameDialog.tsx';
import { ActionHead, ActionNames } from './ActionHead.tsx';
import { useActionsShown } from './actions-shown.ts';
import { FieldsPanel, HeldPart } from './FieldsPanel.tsx';
import { FieldTools, makeField, useFieldKeys } from './FieldTools.tsx';
import { useHeld, type Held } from './held.ts';
import { IdentifierChooser, IdentifierList } from './IdentifierList.tsx';
import { HEAD_HEIGHT, usePhone, usePlaceHeight, useWeaveLayout, useWide } from './layout.ts';
import { FindingState, RespondersPanel, useGroupOf } from './RespondersPanel.tsx';
import { usePayloads } from './store.ts';
import { layoutWeave } from '../../pictures/weave-layout.ts';
import { ThreadLabels } from './ThreadLabels.tsx';
import { TraceRows } from './TraceRows.tsx';
import { WeaveView } from './WeaveView.tsx';

function Place(): ReactNode {
  const current = useCurrentCapture();
  const held = useHeld();
  const root = useMeasuredPlace();
  if (!current || held.identifiers.length === 0 || NOT_READ[current.open.phase]) return <Nothing />;
  return (
    <div ref={root} className="payloads">
      <Sheet held={held} />
    </div>
  );
}

function Sheet({ held }: { held: Held }): ReactNode {
  const shown = useActionsShown();
  const layout = useWeaveLayout(held);
  const group = useGroupOf(held.stream);
  const phone = usePhone();
  useFieldKeys(held);
  return (
    <>
      {phone ? <IdentifierChooser held={held} /> : <IdentifierList held={held} />}
      <TimeSheet className="payloads-sheet">
        <Row label={<ActionNames shown={shown} />}>
          <ActionHead shown={shown} />
        </Row>
        <Row label={phone ? null : <ThreadLabels layout={layout} />}>
          {layout.bytes === 0 ? (
            <p className="dim">This identifier carries no payload: only its timing can tell something.</p>
          ) : (
            <WeaveView held={held} layout={layout} columns={shown.columns} group={group} />
          )}
        </Row>
        <Row label={null}>
          <FieldTools held={held} />
        </Row>
        <TraceRows held={held} columns={shown.columns} group={group} />
      </TimeSheet>
      <Naming held={held} />
    </>
  );
}

function Naming({ held }: { held: Held }): ReactNode {
  const naming = usePayloads((state) => state.naming);
  const { frame, value, band, stream } = held;
  if (!naming || !frame || !value || !stream) return null;
  return (
    <NameDialog
      frame={frame}
      shownId={displayId(stream.id, stream.extended)}
      field={value}
      renames={band?.signal?.name ?? null}
      onClose={() => usePayloads.getState().set({ naming: false })}
    />
  );
}

/** The height the place has, for the pitch of threads. */
function useMeasuredPlace(): (element: HTMLElement | null) => void {
  const watch = useRef<ResizeObserver | null>(null);
  return useMemo(
    () => (element) => {
      watch.current?.disconnect();
      const scroll = element?.closest<HTMLElement>('.place-scroll');
      if (!scroll) return;
      const measure = (): void => usePlaceHeight.getState().set(scroll.clientHeight);
      watch.current = new ResizeObserver(measure);
      watch.current.observe(scroll);
      measure();
    },
    [],
  );
}

/** Why there is nothing to ask of a recording, and what to do; the place shows what it can in every other phase. */
const NOT_READ: Partial<Record<CapturePhase, string>> = {
  failed: 'This recording could not be read. Captures says why, with the line.',
  stopped: 'Reading was stopped. Captures can go on with it.',
  missing: 'The files of this recording are not in this browser: hand them over again in Captures.',
  unrecorded: 'These marks have no recording yet. Open the recording in Captures, and it is laid under them.',
};

function Nothing(): ReactNode {
  const current = useCurrentCapture();
  const reading = current?.open.phase === 'reading' || current?.open.phase === 'waiting';
  return (
    <div className="payloads-nothing">
      <EmptyAxes />
      <div className="past-gutter need">
        <p>
          {reading
            ? 'Reading: the first identifiers appear here within a moment.'
            : current
              ? (NOT_READ[current.open.phase] ??
                'There is nothing to look at yet: no frame has been read from this recording.')
              : 'No recording is open. Payloads shows, for one identifier, every bit as a thread over time.'}
        </p>
        {!reading && (
          <button type="button" className="button" onClick={() => useView.getState().go('captures')}>
            Go to Captures <kbd>1</kbd>
          </button>
        )}
      </div>
    </div>
  );
}

/** The axes in place before there is anything to draw on them. */
function EmptyAxes(): ReactNode {
  const layout = useMemo(() => layoutWeave({ bytes: 8, available: 483, moves: () => true, openByte: null }), []);
  return (
    <div className="row payloads-axes" aria-hidden="true">
      <div className="row-label">
        <ThreadLabels layout={layout} />
      </div>
      <svg width="100%" height={layout.height}>
        {layout.rows.map((row) => (
          <line key={row.y} x1="0" x2="100%" y1={row.y + row.height / 2} y2={row.y + row.height / 2} />
        ))}
      </svg>
    </div>
  );
}

function Panel(): ReactNode {
  const held = useHeld();
  const layout = useWeaveLayout(held);
  const wide = useWide();
  const shown = useActionsShown();
  const current = useCurrentCapture();
  const root = useScrollTogether(wide);
  if (!current || held.identifiers.length === 0 || NOT_READ[current.open.phase]) return null;
  return (
    <div ref={root} className="payloads-panel">
      <FieldsHead held={held} wide={wide} />
      {held.findings && held.bands.length === 0 && (
        <p className="small dim">No field is proposed: no bit of this payload moves.</p>
      )}
      <FieldsPanel held={held} layout={layout} aligned={wide} />
      <HeldPart held={held} layout={layout} aligned={wide} />
      <RespondersPanel shown={shown} />
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

/** Labels stand at their threads, so the panel scrolls with the sheet. */
function useScrollTogether(wide: boolean): React.RefObject<HTMLDivElement | null> {
  const root = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const panel = root.current?.closest<HTMLElement>('.panel');
    const sheet = panel?.parentElement?.querySelector<HTMLElement>('.place-scroll');
    if (!wide || !panel || !sheet) return;
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
      sheet.removeEventListener('scroll', down);
      panel.removeEventListener('scroll', up);
    };
  }, [wide]);
  return root;
}

function Controls(): ReactNode {
  const shows = usePayloads((state) => state.shows);
  const held = useHeld();
  const { set } = usePayloads.getState();
  return (
    <>
      <span className="legend payloads-legend" aria-hidden="true">
        <svg width="332" height="28">
          <line x1="0" x2="32" y1="14" y2="14" stroke="var(--thread-rest)" />
          <text x="38" y="18">
            still, zero
          </text>
          <line
            x1="104"
            x2="136"
            y1="14"
            y2="14"
            stroke="color-mix(in oklab, var(--group-a) 62%, var(--ink))"
            strokeWidth="2"
          />
          <text x="142" y="18">
            still, set
          </text>
          <path
            d="M204 14C214 14 214 10.6 224 10.6H232C240 10.6 238 14 246 14C238 14 240 17.4 232 17.4H224C214 17.4 214 14 204 14Z"
            fill="var(--group-a)"
          />
          <text x="252" y="18">
            thick: moves
          </text>
        </svg>
      </span>
      <span className="switch" role="group" aria-label="Darkness shows">
        {(['set', 'changed'] as const).map((choice) => (
          <button key={choice} type="button" aria-pressed={shows === choice} onClick={() => set({ shows: choice })}>
            {choice}
          </button>
        ))}
      </span>
      <button type="button" className="button" disabled={!held.stream} onClick={() => makeField(held)}>
        {held.tried ? 'Keep field' : 'Make a field'} <kbd>F</kbd>
      </button>
    </>
  );
}

function useLine(): string {
  const fields = useFields();
  const current = useCurrentCapture();
  if (!current) return 'no capture yet';
  if (current.open.phase === 'reading') return 'open as soon as read';
  if (fields.slot?.state === 'running' && !fields.value) return `finding fields, ${percent(fields.slot.share)}`;
  if (!fields.value) return current.open.phase === 'ready' ? 'fields not found yet' : 'nothing read';
  const count = fields.value.reduce((sum, frame) => sum + frame.fields.length, 0);
  const guards = fields.value.reduce((sum, frame) => sum + frame.counters.length + frame.checksums.length, 0);
  return guards ? `${plural(count, 'field')}, ${plural(guards, 'guard')}` : plural(count, 'field');
}

export const place: PlaceDefinition = {
  name: 'payloads',
  title: 'Payloads',
  question: 'What moves?',
  showsTime: true,
  Place,
  Panel,
  Controls,
  useLine,
};
