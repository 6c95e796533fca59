/**
 * Who answers an action: every field that answers more surely than chance would, with all repetitions laid over each
 * other, effect, lag and q, the most direct first. Says what would suffice where there is too little to say.
 */
import { useMemo, useState, type ReactNode } from 'react';
import type { ActionLinks, Link } from '../../../actions/types.ts';
import type { FrameFindings } from '../../../fields/types.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { Dossier } from '../../../jobs/dossier.ts';
import { fieldAt } from '../../pictures/bands-model.ts';
import { placementKey, type PlacedField } from '../../pictures/bands-words.ts';
import { nobodyWords, overlayOf, pathOf, respondersOf, type ResponderRow } from '../../pictures/responders-model.ts';
import { useFields, useLinks, useRulerMarks, useSurvey } from '../../stores/asking.ts';
import { useCurrentCapture, type Finding } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { groupStyle } from '../../../kit/drawing/palette.ts';
import { percent, plural } from '../../../kit/sheet-figures.ts';
import { strayWords } from '../../words/stray-marks.ts';
import { signalAt } from '../signals/dossier-signals.ts';
import type { ActionsShown } from './actions-shown.ts';
import { useRepetitions } from './asking.ts';
import { plainPlacement } from './decisions.ts';
import { findingsFor } from './held.ts';
import { usePayloads } from './store.ts';
import { traceRequestOf } from './trace-request.ts';

const BEFORE_S = 1.2;
const LONGEST_AFTER_S = 6;
/** What fits above the ruler in a usual window; the rest is one click away, and never more than anybody would read. */
const FIRST_ROWS = 5;
const MOST_ROWS = 24;
const OVERLAY = { width: 66, height: 25 };

export function RespondersPanel({ shown }: { shown: ActionsShown }): ReactNode {
  const links = useLinks();
  const current = useCurrentCapture();
  const report = links.value?.actions.find(({ action }) => action === shown.action) ?? null;
  const dossier = useDossier((state) => state.dossier);
  const rows = useMemo(() => (report ? respondersOf(report, nameIn(dossier)) : []), [report, dossier]);
  const [all, setAll] = useState(false);
  const { marks } = useRulerMarks();
  const stray = strayWords(marks, current?.open.summary?.durationS ?? Infinity);
  if (!current?.entry.marks.length) return <NoMarks />;
  return (
    <section className="panel-part payloads-responders">
      <h3 className="payloads-who">
        <span className="payloads-who-words">Who answers</span>
        <select
          className="field"
          aria-label="Action"
          value={shown.action ?? ''}
          onChange={(event) => usePayloads.getState().set({ action: event.target.value })}
        >
          {shown.actions.map((action) => (
            <option key={action}>{action}</option>
          ))}
        </select>
        <span>?</span>
        {rows.length > FIRST_ROWS && (
          <button type="button" className="button payloads-all" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? 'Fewer' : 'More'}
          </button>
        )}
      </h3>
      <LinkState links={links} />
      {stray && <p className="small payloads-nobody">{stray}</p>}
      {report && !stray && (
        <Rows report={report} rows={rows} most={all ? MOST_ROWS : FIRST_ROWS} shown={shown} outdated={links.outdated} />
      )}
    </section>
  );
}

function NoMarks(): ReactNode {
  return (
    <section className="panel-part">
      <h3>Who answers?</h3>
      <p className="dim small">
        No marks yet: you can still look at payloads. Mark when something was pressed, and the fields that answer are
        listed here.
      </p>
      <p style={{ marginTop: 8 }}>
        <button type="button" className="button" onClick={() => useView.getState().go('marks')}>
          Go to Marks <kbd>2</kbd>
        </button>
      </p>
    </section>
  );
}

/** Progress with stop beside it; what went wrong, with again; a value from before the last change is said to be one. */
export function FindingState({ finding }: { finding: Finding<unknown> }): ReactNode {
  const { slot, outdated } = finding;
  const before = outdated ? 'From before your last change. ' : '';
  if (!slot || slot.state === 'done') return before ? <p className="small dim inferred">{before}</p> : null;
  if (slot.state === 'running')
    return (
      <p className="small payloads-progress" role="status">
        <i>{before}</i>
        <progress max={1} value={slot.share} aria-label="progress" /> {percent(slot.share)}{' '}
        <button type="button" className="button plain" onClick={() => slot.stop()}>
          Stop
        </button>
      </p>
    );
  return (
    <p className="small">
      {slot.state === 'stopped' ? 'Stopped; what was found before is kept.' : `It failed: ${slot.note}.`}{' '}
      <button type="button" className="button" onClick={() => finding.again()}>
        Try again
      </button>
    </p>
  );
}

/** Answers are looked for among fields: first those have to be found. */
function LinkState({ links }: { links: Finding<unknown> }): ReactNode {
  const fields = useFields();
  if (fields.slot?.state === 'running' && !links.value)
    return <p className="small dim">It follows when the fields are found.</p>;
  return <FindingState finding={links} />;
}

/** The name a person gave to the field of a link, or null. */
export const nameIn =
  (dossier: Dossier) =>
  (field: PlacedField): string | null =>
    signalAt(dossier, field)?.name ?? null;

const RATHER_WORDS = 'Rather: it answers that action as well, also where that came alone. ';

interface RowsProps {
  readonly report: ActionLinks;
  readonly rows: readonly ResponderRow[];
  readonly most: number;
  readonly shown: ActionsShown;
  readonly outdated: boolean;
}

function Rows({ report, rows, most, shown, outdated }: RowsProps): ReactNode {
  if (rows.length === 0) return <p className="small payloads-nobody">{nobodyWords(report)}</p>;
  return (
    <>
      <table className={`list payloads-rows ${outdated ? 'outdated' : ''}`}>
        <thead>
          <tr>
            <th>field</th>
            <th>{plural(shown.marks.length, 'time')}</th>
            <th className="right">effect</th>
            <th className="right">lag, s</th>
            <th className="right">q</th>
          </tr>
        </thead>
        <tbody>
          {rows.slice(0, most).map((row) => (
            <Responder key={row.key} row={row} shown={shown} />
          ))}
        </tbody>
      </table>
      <p className="tiny dim">
        {rows.length > most && `${plural(rows.length - most, 'more answer', 'more answers')}. `}
        The most direct first; the action is on the shaded side of the line. q: the share of chance findings to expect
        among answers this sure, of {report.tested.toLocaleString('en')} tests. Effect: in standard deviations (sd) of
        how the field changes at other times; only then: it never moves so otherwise. Below, at how many of the marks it
        does. {rows.slice(0, most).some(({ rather }) => rather) && RATHER_WORDS}Lags are relative to each other: they
        hold the person’s own delay.
      </p>
      {report.words && <p className="tiny dim">{report.words}</p>}
    </>
  );
}

function Responder({ row, shown }: { row: ResponderRow; shown: ActionsShown }): ReactNode {
  const { link } = row;
  const fields = useFields().value;
  const stream = useMemo<StreamKey>(
    () => ({ bus: link.bus, id: Number(link.id), extended: link.extended, direction: 'received' }),
    [link],
  );
  const group = useGroupOf(stream);
  const holds = useView(
    ({ selection }) =>
      selection.placement !== null &&
      selection.stream?.id === stream.id &&
      placementKey(selection.placement) === placementKey(link),
  );
  return (
    <>
      <tr className={`${holds ? 'held-row' : ''} ${row.rather ? 'rather' : ''}`}>
        <td>
          <button type="button" className="payloads-responder" onClick={() => openLink(stream, row)}>
            <i className="hue" style={{ background: groupStyle(group, 'var(--rule-key)') }} />
            <span className="payloads-place">
              <span className="payloads-place-line">
                <span className="mono">{row.id}</span> <span className={row.named ? 'strong' : ''}>{row.name}</span>
              </span>{' '}
              {row.bus && <small className="dim">{row.bus}</small>}
            </span>
          </button>
        </td>
        <td>
          <Overlay row={row} stream={stream} fields={fields} shown={shown} group={group} />
        </td>
        <td className="right" title={row.moves && `it moves so at ${row.moves}`}>
          {row.effect}{' '}
          {row.moves && (
            <small className="dim payloads-moves">
              {row.seen}
              <span className="unseen">{row.moves.slice(row.seen.length)}</span>
            </small>
          )}
        </td>
        <td className="right">{row.lag}</td>
        <td className="right">{row.q}</td>
      </tr>
      {row.rather && (
        <tr className="payloads-rather">
          <td colSpan={5}>
            <i>{row.rather}</i>
          </td>
        </tr>
      )}
    </>
  );
}

export function useGroupOf(stream: StreamKey | null): string | null {
  const survey = useSurvey().value;
  return useMemo(
    () =>
      (stream &&
        survey?.frames.find(
          (frame) => frame.bus === stream.bus && Number(frame.id) === stream.id && frame.extended === stream.extended,
        )?.group) ??
      null,
    [survey, stream],
  );
}

function openLink(stream: StreamKey, { link }: ResponderRow): void {
  usePayloads.getState().set({ sweep: null, bandKey: placementKey(link, link.when), openByte: null });
  useView.getState().select({ stream, placement: plainPlacement(link) });
}

interface OverlayProps {
  readonly row: ResponderRow;
  readonly stream: StreamKey;
  readonly fields: readonly FrameFindings[] | null;
  readonly shown: ActionsShown;
  readonly group: string | null;
}

/** All repetitions over each other, from 1.2 s before the mark. */
function Overlay({ row, stream, fields, shown, group }: OverlayProps): ReactNode {
  const { link } = row;
  const request = useMemo(() => {
    const findings = findingsFor(fields, stream);
    const key = placementKey(link, link.when);
    const field = findings?.fields.find((candidate) => placementKey(candidate, candidate.when) === key);
    return traceRequestOf(stream, field ?? { ...fieldAt(link), when: link.when }, findings);
  }, [fields, link, stream]);
  const shape = useMemo(() => ({ beforeS: BEFORE_S, afterS: afterOf(shown), columns: 66 }), [shown]);
  const marks = useMemo(
    () =>
      shown.marks.map(({ action, startS, endS }) => ({
        action,
        startS: link.direction === 'release' && endS !== null ? endS : startS,
        endS,
      })),
    [shown.marks, link.direction],
  );
  const { value: picture } = useRepetitions(request, marks, shape);
  const lines = useMemo(() => (picture ? overlayOf(picture, OVERLAY.width, OVERLAY.height) : []), [picture]);
  const paths = useMemo(() => lines.map(pathOf), [lines]);
  const at = (shape.beforeS / (shape.beforeS + shape.afterS)) * OVERLAY.width;
  return (
    <svg
      {...OVERLAY}
      className="payloads-overlay"
      role="img"
      aria-label={`${shown.marks.length} repetitions, answering ${row.direction}`}
    >
      <rect {...whereActing(link.direction, at)} y={0} height={OVERLAY.height} />
      <line x1={at} x2={at} y1={1} y2={OVERLAY.height - 1} />
      {paths.map((path, index) => (
        <path key={index} d={path} style={{ stroke: groupStyle(group, 'var(--group-a)') }} />
      ))}
    </svg>
  );
}

/** The shaded side of the line is the one on which the action lasts: after its start, or before its end. */
const whereActing = (direction: Link['direction'], at: number): { readonly x: number; readonly width: number } =>
  direction === 'release' ? { x: 0, width: at } : { x: at, width: OVERLAY.width - at };

/** Long enough to see a usual repetition through, not so long that the next one comes into it. */
function afterOf({ marks }: ActionsShown): number {
  const lengths = marks.flatMap(({ startS, endS }) => (endS === null ? [] : [endS - startS])).sort((a, b) => a - b);
  const usual = lengths[Math.floor(lengths.length / 2)] ?? 3;
  return Math.min(LONGEST_AFTER_S, Math.max(2, usual * 0.9));
}
