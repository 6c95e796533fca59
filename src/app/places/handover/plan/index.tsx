/** Keep-alive plan: what the part may wait to hear, when, in which order after waking, and why one believes so. */
import './plan.css';
import { useMemo, type ReactNode } from 'react';
import type { KeepAlivePlan } from '../../../../handover/needs/types.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { period, plural } from '../../../../kit/sheet-figures.ts';
import { useKeys, type KeyGroup } from '../../../shell/keys.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { DelayBars } from '../DelayBars.tsx';
import { FileText } from '../FileText.tsx';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { PartSenders } from '../PartSenders.tsx';
import { ShowsSwitch } from '../ShowsSwitch.tsx';
import { useHandover } from '../store.ts';
import { afterWaking } from './after-waking.ts';
import { HeldFrame } from './HeldFrame.tsx';
import { Lanes } from './Lanes.tsx';
import { lanesOf, spansOf } from './lanes.ts';
import { Legend } from './Legend.tsx';
import { usePlanned } from './planned.ts';
import { PlanTable } from './PlanTable.tsx';

const FILES = /^keep-alive\./;

const KEYS: KeyGroup = {
  title: 'Keep-alive plan',
  bindings: [
    { key: 'l', says: 'go to the lanes; arrows walk in them', run: focusLanes },
    {
      key: 'Escape',
      says: 'let go of the frame that is held',
      run: () => useHandover.getState().set({ frame: null }),
    },
    { key: 'z', says: 'as long as one of each, or short', run: toggleSpan },
  ],
};

function focusLanes(): void {
  document.querySelector<HTMLElement>('.plan-lanes')?.focus();
}
function toggleSpan(): void {
  const { span, set } = useHandover.getState();
  set({ span: span === 'short' ? 'whole' : 'short' });
}

function Shown({ map }: OutputProps): ReactNode {
  useKeys(KEYS);
  const shows = useHandover((state) => state.shows);
  const { plan, waits } = usePlanned();
  return (
    <>
      <h2 className="figure">Keep-alive plan</h2>
      <PartSenders map={map} />
      {waits && (
        <p className="small inferred" role="status">
          Captures are asked who is needed: {waits} answered.
        </p>
      )}
      {shows === 'text' && <FileText map={map} output="keep-alive" files={FILES} />}
      {shows === 'drawn' && plan && <Drawn plan={plan} />}
    </>
  );
}

function Drawn({ plan }: { plan: KeepAlivePlan }): ReactNode {
  const { frames } = plan;
  const part = useDossier(({ dossier }) => dossier.part);
  const span = useHandover((state) => state.span);
  const held = useHandover((state) => state.frame);
  const spans = useMemo(() => spansOf(frames), [frames]);
  const spanMs = span === 'whole' ? spans.wholeMs : spans.shortMs;
  const lanes = useMemo(() => lanesOf(frames, spanMs), [frames, spanMs]);
  const planned = frames.find(({ frame }) => frameKey(frame) === held);
  if (frames.length === 0)
    return <p className="dim">Nothing to wait for: every frame of the map is sent by the part itself.</p>;
  return (
    <>
      <p className="small dim plan-lead">
        <span>
          {period(spanMs)} of what {part.title || 'the part'} may wait to hear, as a controller would send it. Places
          are those within a sender, as recorded.
        </span>
        {spans.wholeMs > spans.shortMs && <SpanSwitch {...spans} />}
      </p>
      <Legend lanes={lanes} />
      <Lanes
        lanes={lanes}
        spanMs={spanMs}
        held={held}
        namesBus={new Set(frames.map(({ frame }) => frame.bus)).size > 1}
      />
      {planned ? (
        <HeldFrame planned={planned} />
      ) : (
        <p className="small dim plan-hint">
          Hold a frame for the reasons: <kbd>L</kbd> and arrows.
        </p>
      )}
      <AfterWaking plan={plan} />
      <OpenQuestions open={plan.open} />
      <details className="plan-behind">
        <summary>
          <b>The plan as a table</b>
        </summary>
        <PlanTable frames={frames} />
      </details>
    </>
  );
}

function SpanSwitch({ shortMs, wholeMs }: { shortMs: number; wholeMs: number }): ReactNode {
  const span = useHandover((state) => state.span);
  return (
    <span className="switch" role="group" aria-label="How long the drawing is">
      {(['short', 'whole'] as const).map((one) => (
        <button
          key={one}
          type="button"
          aria-pressed={span === one}
          onClick={() => useHandover.getState().set({ span: one })}
        >
          {period(one === 'short' ? shortMs : wholeMs)} {span !== one && <kbd>Z</kbd>}
        </button>
      ))}
    </span>
  );
}

function AfterWaking({ plan }: { plan: KeepAlivePlan }): ReactNode {
  const buses = useMemo(() => afterWaking(plan.frames), [plan.frames]);
  return (
    <section className="plan-section">
      <h3>
        Order after waking <small>from the first frame of the bus, in ms</small>
      </h3>
      {buses.length === 0 && (
        <p className="small dim">
          No waking was seen: a recording that begins while the bus is asleep, with the key turned on in it, shows who
          comes when.
        </p>
      )}
      {buses.map(({ bus, rows }) => (
        <div key={bus}>
          {buses.length > 1 && <h4 className="small dim">{bus}</h4>}
          <DelayBars rows={rows} label={`Order after waking on ${bus}`} />
        </div>
      ))}
    </section>
  );
}

function OpenQuestions({ open }: { open: readonly string[] }): ReactNode {
  if (open.length === 0) return null;
  return (
    <section className="plan-section">
      <h3>
        Open questions <small>{open.length}</small>
      </h3>
      <ul className="plan-open">
        {open.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
    </section>
  );
}

function useLine(map: SignalMap): string {
  const plan = usePlanned((state) => state.plan);
  const n = plan?.frames.length ?? map.frames.filter(({ role }) => role !== 'sent-by-part').length;
  const required = plan?.frames.filter(({ need }) => need === 'required').length ?? 0;
  return required > 0 ? `${plural(n, 'frame')}, ${required} required` : `${plural(n, 'frame')} that it may wait for`;
}

export const output: OutputDefinition = {
  name: 'keep-alive',
  title: 'Keep-alive plan',
  saves: 'plan',
  files: FILES,
  sends: true,
  useLine,
  Shown,
  Controls: ShowsSwitch,
};
