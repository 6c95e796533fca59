/** Payloads: what moves? */
import './payloads.css';
import { useMemo, useRef, type ReactNode } from 'react';
import { displayId } from '../../../kit/units.ts';
import { useFields } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { percent, plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { NameDialog } from '../signals/NameDialog.tsx';
import { NOT_READ, Nothing } from './Nothing.tsx';
import { PayloadsPanel } from './PayloadsPanel.tsx';
import { ActionHead, ActionNames } from './ActionHead.tsx';
import { useActionsShown } from './actions-shown.ts';
import { FieldTools, makeField, useFieldKeys } from './FieldTools.tsx';
import { useHeld, type Held } from './held.ts';
import { IdentifierChooser, IdentifierList } from './IdentifierList.tsx';
import { usePhone, usePlaceHeight, useWeaveLayout } from './layout.ts';
import { useGroupOf } from './RespondersPanel.tsx';
import { usePayloads } from './store.ts';
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
  Panel: PayloadsPanel,
  Controls,
  useLine,
};
