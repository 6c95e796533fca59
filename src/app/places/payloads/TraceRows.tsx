/** Traces under the weave: the field held first, then those kept, then other numbers of the identifier; values at the cursor. */
import { useMemo, type ReactNode } from 'react';
import { streamName, type StreamKey } from '../../../frames/table.ts';
import type { TracePicture, TraceRequest } from '../../../jobs/engine-types.ts';
import type { MapSignal } from '../../../map/schema.ts';
import type { Gap } from '../../../timing/types.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { decimalsFor, fillingsOf, rangeOf } from '../../pictures/traces-model.ts';
import { traceScene } from '../../pictures/traces-scene.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { useSurvey } from '../../stores/asking.ts';
import { fingerprint } from '../../stores/findings.ts';
import { useView } from '../../stores/view.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { fixed, value as valueWords } from '../../../kit/sheet-figures.ts';
import { useTraces, useValuesAtCursor } from './asking.ts';
import type { Held } from './held.ts';
import { findingsFor } from './held.ts';
import { useOverlay } from './same-values.ts';
import { shortId } from './IdentifierList.tsx';
import { TRACE_HEIGHT, TRACES_SHOWN } from './layout.ts';
import { usePayloads } from './store.ts';
import { traceRequestOf } from './trace-request.ts';

interface Traced {
  readonly key: string;
  readonly stream: StreamKey;
  readonly value: MapSignal;
  /** The person's name for it, else its place. */
  readonly label: string;
  readonly role: 'held' | 'kept' | 'other';
}

const keyOf = (stream: StreamKey, value: MapSignal): string =>
  `${stream.bus} ${stream.id} ${placementKey(value, value.when)}`;

/** The field held, up to three kept, and others of the identifier while there is room. */
function useTraced(held: Held): readonly Traced[] {
  const kept = usePayloads((state) => state.kept);
  return useMemo(() => {
    const traced: Traced[] = [];
    const add = (trace: Traced): void => {
      if (!traced.some(({ key }) => key === trace.key)) traced.push(trace);
    };
    const { stream, value, bands } = held;
    const labelOf = (signal: MapSignal): string =>
      bands.find((band) => band.value === signal && (band.named || band.glyph === 'ticks'))?.name ?? placeWords(signal);
    if (stream && value) add({ key: keyOf(stream, value), stream, value, label: labelOf(value), role: 'held' });
    for (const trace of kept) add({ ...trace, role: 'kept' });
    const others = stream ? bands.flatMap((band) => (band.glyph === 'wedge' && band.value ? [band.value] : [])) : [];
    for (const other of others)
      if (stream && traced.length < TRACES_SHOWN)
        add({ key: keyOf(stream, other), stream, value: other, label: labelOf(other), role: 'other' });
    return traced.slice(0, 1 + TRACES_SHOWN);
  }, [held, kept]);
}

/** A long name may break after an underscore. */
const breakable = (name: string): string => name.replaceAll('_', '_\u200B');

interface RowsProps {
  readonly held: Held;
  readonly columns: readonly ActionColumn[];
  readonly group: string | null;
}

export function TraceRows({ held, columns, group }: RowsProps): ReactNode {
  const traced = useTraced(held);
  const fields = held.fields.value;
  const requests = useMemo(
    () => traced.map(({ stream, value }) => traceRequestOf(stream, value, findingsFor(fields, stream))),
    [traced, fields],
  );
  const overlay = useOverlay(held);
  const over = useMemo(() => (overlay?.request ? [overlay.request] : []), [overlay]);
  const laid = useTraces(over);
  const beside = overlay?.request && laid.value?.asked === fingerprint(over) ? (laid.value.pictures[0] ?? null) : null;
  const answer = useTraces(requests);
  const current = answer.value?.asked === fingerprint(requests) ? answer.value.pictures : [];
  const values = useValuesAtCursor(requests);
  if (traced.length === 0)
    return (
      <Row label={<div className="payloads-trace-label dim small">traces</div>}>
        <p className="dim small payloads-trace-empty">
          {held.bands.some(({ pages }) => pages.length > 0)
            ? 'What moves here lies on pages: hold a band, then choose one of its pages to see its trace.'
            : 'No number moves in this payload yet; hold a field to see its trace.'}
        </p>
      </Row>
    );
  return traced.map((trace, index) => (
    <TraceRow
      key={trace.key}
      trace={trace}
      request={requests[index] as TraceRequest}
      picture={current[index] ?? null}
      beside={trace.role === 'held' && overlay ? { picture: beside, name: overlay.name } : null}
      atCursor={values.value?.[index] ?? Number.NaN}
      columns={columns}
      group={group}
    />
  ));
}

const NO_GAPS: readonly Gap[] = [];
/** Before its first frame and after its last a value is not known: the line does not go on there. */
const silentEnds = ({ firstS, lastS }: { readonly firstS: number; readonly lastS: number }): Gap[] => [
  { fromS: -Infinity, toS: firstS },
  { fromS: lastS, toS: Infinity },
];

export function useGaps(stream: StreamKey | null): readonly Gap[] {
  const survey = useSurvey().value;
  return useMemo(() => {
    if (!stream) return NO_GAPS;
    const found = survey?.frames.find(
      (frame) =>
        frame.bus === stream.bus &&
        Number(frame.id) === stream.id &&
        frame.extended === stream.extended &&
        frame.direction === stream.direction,
    );
    return found ? [...found.gaps, ...silentEnds(found)] : NO_GAPS;
  }, [survey, stream]);
}

/** As many decimals as the scale resolves; the name of the state where it has one. */
export function figureOf(signal: MapSignal, physical: number, span: number): string {
  if (physical !== physical) return '';
  const raw = signal.scale ? Math.round((physical - signal.offset) / signal.scale) : physical;
  const state = signal.kind === 'states' || signal.kind === 'flag' ? signal.states[String(raw)] : undefined;
  if (state) return state;
  if (signal.coding === 'float') return valueWords(physical);
  const decimals = signal.table ? 1 : decimalsFor(signal.scale, span);
  return Math.abs(physical) >= 1000 ? valueWords(physical) : fixed(physical, decimals);
}

interface RowProps {
  readonly trace: Traced;
  readonly request: TraceRequest;
  readonly picture: TracePicture | null;
  /** What is laid over it, with its name. */
  readonly beside: { readonly picture: TracePicture | null; readonly name: string } | null;
  readonly atCursor: number;
  readonly columns: readonly ActionColumn[];
  readonly group: string | null;
}

function TraceRow({ trace, picture, beside, atCursor, columns, group }: RowProps): ReactNode {
  const { stream, value, label, role } = trace;
  const palette = usePalette();
  const window = useView((view) => view.window);
  const cursorS = useView((view) => view.cursorS);
  const here = useView(({ selection }) => selection.stream);
  const gaps = useGaps(stream);
  const span = picture ? picture.greatest - picture.least : 0;
  const color = group ? groupColor(palette, group) : (palette.groups['A'] ?? palette.ink2);
  const scene = useMemo(
    () =>
      traceScene({
        window,
        picture,
        beside: beside?.picture ?? null,
        gaps,
        columns,
        color,
        width: role === 'held' ? 2 : 1.5,
        fillings: fillingsOf(value),
        cursor: cursorS === null ? null : { atS: cursorS, value: atCursor, words: figureOf(value, atCursor, span) },
        range:
          picture && Number.isFinite(picture.least)
            ? (rangeOf(picture, fillingsOf(value)).map((end) => figureOf(value, end, span)) as [string, string])
            : null,
      }),
    [window, picture, beside, gaps, columns, color, role, cursorS, atCursor, value, span],
  );
  const foreign = here && streamName(here) !== streamName(stream);
  return (
    <Row
      label={
        <div className="payloads-trace-label">
          <b className={role === 'held' ? 'strong' : ''}>{breakable(label)}</b>
          <span className="dim tiny">
            {foreign && <span className="mono">{shortId(stream)} </span>}
            {value.unit || 'raw'}
          </span>
          {beside && <span className="dim tiny">dashed: {beside.name}</span>}
          {role === 'kept' && (
            <button type="button" className="button plain tiny" onClick={() => usePayloads.getState().letGo(trace.key)}>
              let go
            </button>
          )}
        </div>
      }
    >
      <Picture
        label={`Trace of ${label}`}
        height={TRACE_HEIGHT}
        scene={scene}
        table={picture && <TraceTable name={label} unit={value.unit} picture={picture} />}
      />
    </Row>
  );
}

const TABLE_ROWS = 20;

/** A trace for the ear: its range and a value every twentieth of the view. */
export function TraceTable({ name, unit, picture }: { name: string; unit: string; picture: TracePicture }): ReactNode {
  const { fromS, toS, columns } = picture.window;
  const rows = Array.from({ length: TABLE_ROWS }, (_, k) => Math.floor(((k + 0.5) / TABLE_ROWS) * columns));
  return (
    <table>
      <caption>
        {name}, from {valueWords(picture.least)} to {valueWords(picture.greatest)} {unit || 'raw'}
      </caption>
      <tbody>
        {rows.map((column) => (
          <tr key={column}>
            <td>{fixed(fromS + ((column + 0.5) / columns) * (toS - fromS), 2)} s</td>
            <td>
              {Number.isNaN(picture.last[column] as number) ? 'no frame' : valueWords(picture.last[column] as number)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
