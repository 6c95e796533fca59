/** What the held item was read from, in the capture it was held against: physical values with the range that the map saw, and the raw ones. */
import { useMemo, type ReactNode } from 'react';
import type { TracePicture, TraceRequest } from '../../../jobs/engine-types.ts';
import type { MapFrame, MapSignal } from '../../../map/schema.ts';
import { withMoments, withRange } from '../../pictures/proof-scene.ts';
import { fillingsOf } from '../../pictures/traces-model.ts';
import { traceScene } from '../../pictures/traces-scene.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { fingerprint } from '../../stores/findings.ts';
import { useView } from '../../stores/view.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { value as valueWords } from '../../../kit/sheet-figures.ts';
import { useTraces, useValuesAtCursor } from '../payloads/asking.ts';
import { rawRequestOf, traceRequestOf, unsignedRequestOf } from '../payloads/trace-request.ts';
import { figureOf, TraceTable, useGaps } from '../payloads/TraceRows.tsx';
import type { FrameRow, ItemRow } from './rows.ts';

const HEIGHT = 46;

interface Trace {
  readonly name: string;
  readonly unit: string;
  /** "raw": bits as they stand, nothing scaled. */
  readonly note: string;
  readonly request: TraceRequest;
  readonly words: (value: number, span: number) => string;
  readonly fillings: readonly number[];
  /** What the map saw of it, in the same values; null where it says nothing. */
  readonly seen: { readonly min: number; readonly max: number } | null;
}

type Placed = Pick<MapSignal, 'lsb' | 'length' | 'order' | 'continues' | 'when'>;

/** A guard or a selector read as bare bits. */
function bareTrace(name: string, placed: Placed, frame: MapFrame, stream: TraceRequest['stream']): Trace {
  const { lsb, length, order, continues, when } = placed;
  return {
    name,
    unit: '',
    note: 'raw',
    request: {
      stream,
      placement: continues ? { lsb, length, order, continues } : { lsb, length, order },
      coding: 'unsigned',
      when,
      ...(when ? { selectors: frame.selectors } : {}),
    } as TraceRequest,
    words: (value) => valueWords(value),
    fillings: [],
    seen: null,
  };
}

function signalTraces(signal: MapSignal, frame: MapFrame, stream: TraceRequest['stream']): Trace[] {
  const request = {
    ...traceRequestOf(stream, signal, null),
    ...(signal.when ? { selectors: frame.selectors } : {}),
  } as TraceRequest;
  const isPlain = signal.scale === 1 && signal.offset === 0 && !signal.table && signal.unit === '';
  const raw = signal.kind === 'number' ? rawRequestOf(request) : unsignedRequestOf(request);
  const words = (value: number, span: number): string => figureOf(signal, value, span);
  const physical: Trace = {
    name: signal.name,
    unit: signal.unit,
    note: signal.unit || (signal.kind === 'number' ? 'no unit yet' : 'states'),
    request,
    words,
    fillings: fillingsOf(signal),
    seen: signal.kind === 'number' ? signal.observed : null,
  };
  const bare: Trace = {
    ...physical,
    note: 'raw',
    unit: '',
    request: raw,
    words: (value) => valueWords(value),
    fillings: [],
    seen: null,
  };
  return isPlain && signal.kind === 'number' ? [{ ...physical, note: 'raw, no scale yet' }] : [physical, bare];
}

/** None for what is of the frame itself: its presence, length and timing. */
export function tracesOf({ mapFrame, stream }: FrameRow, { item, title }: ItemRow): readonly Trace[] {
  if (!mapFrame || !stream) return [];
  const named = (one: { readonly name: string }): boolean => one.name === item.name;
  if (item.item === 'signal') {
    const signal = mapFrame.signals.find(named);
    return signal && signal.coding !== 'text' ? signalTraces(signal, mapFrame, stream) : [];
  }
  const guard = [...mapFrame.counters, ...mapFrame.selectors].find(named);
  return guard ? [bareTrace(title, guard as Placed, mapFrame, stream)] : [];
}

interface ItemTracesProps {
  readonly frame: FrameRow;
  readonly row: ItemRow;
  readonly columns: readonly ActionColumn[];
}

export function ItemTraces({ frame, row, columns }: ItemTracesProps): ReactNode {
  const traces = useMemo(() => tracesOf(frame, row), [frame, row]);
  const requests = useMemo(() => traces.map(({ request }) => request), [traces]);
  const answer = useTraces(requests);
  const pictures = answer.value?.asked === fingerprint(requests) ? answer.value.pictures : [];
  const values = useValuesAtCursor(requests);
  return traces.map((trace, index) => (
    <TraceLine
      key={trace.note}
      frame={frame}
      row={row}
      trace={trace}
      picture={pictures[index] ?? null}
      atCursor={values.value?.[index] ?? Number.NaN}
      columns={columns}
    />
  ));
}

/** What the capture showed and what the map saw, on one scale. */
const widest = (
  { least, greatest }: Pick<TracePicture, 'least' | 'greatest'>,
  { min, max }: { readonly min: number; readonly max: number },
): Pick<TracePicture, 'least' | 'greatest'> => ({ least: Math.min(least, min), greatest: Math.max(greatest, max) });

interface TraceLineProps extends ItemTracesProps {
  readonly trace: Trace;
  readonly picture: TracePicture | null;
  readonly atCursor: number;
}

function TraceLine({ frame, row, trace, picture, atCursor, columns }: TraceLineProps): ReactNode {
  const palette = usePalette();
  const window = useView((view) => view.window);
  const cursorS = useView((view) => view.cursorS);
  const gaps = useGaps(frame.stream);
  const span = picture ? picture.greatest - picture.least : 0;
  const { moments } = row.item;
  const scene = useMemo(() => {
    const shown = picture && trace.seen ? { ...picture, ...widest(picture, trace.seen) } : picture;
    const drawn = traceScene({
      window,
      picture: shown,
      gaps,
      columns,
      color: groupColor(palette, frame.group),
      width: 1.75,
      fillings: trace.fillings,
      cursor: cursorS === null ? null : { atS: cursorS, value: atCursor, words: trace.words(atCursor, span) },
      range:
        picture && !trace.seen && Number.isFinite(picture.least)
          ? [trace.words(picture.least, span), trace.words(picture.greatest, span)]
          : null,
    });
    if (!shown || !trace.seen) return withMoments(drawn, window, moments);
    const { min, max } = trace.seen;
    const ends = [min, max].map((value) => ({ value, words: `map ${trace.words(value, span)}` }));
    const { fillings } = trace;
    return withMoments(withRange(drawn, { picture: shown, fillings, ends }), window, moments);
  }, [window, picture, gaps, columns, palette, frame.group, trace, cursorS, atCursor, span, moments]);
  return (
    <Row
      className="proof-trace"
      label={
        <span className="proof-trace-label">
          <span>{trace.name}</span>
          <span className="dim tiny">{trace.note}</span>
        </span>
      }
    >
      <Picture
        label={`${trace.name}, ${trace.note}, in this capture`}
        height={HEIGHT}
        scene={scene}
        table={picture && <TraceTable name={trace.name} unit={trace.unit} picture={picture} />}
      />
    </Row>
  );
}
