/** Signals on the shared time column: standing, name, unit, and the trace in physical units. Arrows move from one to the next. */
import { useMemo, type KeyboardEvent, type ReactNode } from 'react';
import type { TracePicture } from '../../../jobs/engine-types.ts';
import { fillingsOf, rangeOf } from '../../pictures/traces-model.ts';
import { traceScene } from '../../pictures/traces-scene.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { fingerprint } from '../../stores/findings.ts';
import { useView } from '../../stores/view.ts';
import { movedTo } from '../../shell/list-keys.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import { groupColor } from '../../../kit/drawing/palette.ts';
import { usePalette } from '../../theme/palette.ts';
import { useTraces, useValuesAtCursor } from '../payloads/asking.ts';
import { shortId } from '../payloads/IdentifierList.tsx';
import { useGroupOf } from '../payloads/RespondersPanel.tsx';
import { figureOf, TraceTable, useGaps } from '../payloads/TraceRows.tsx';
import { holdSignal, type SignalRow } from './held-signal.ts';
import { StandingGlyph } from './Standing.tsx';

const ROW_HEIGHT = 42;

interface RowsProps {
  readonly rows: readonly SignalRow[];
  readonly held: SignalRow | null;
  readonly columns: readonly ActionColumn[];
}

export function SignalRows({ rows, held, columns }: RowsProps): ReactNode {
  const requests = useMemo(() => rows.map(({ request }) => request), [rows]);
  const answer = useTraces(requests);
  const pictures = answer.value?.asked === fingerprint(requests) ? answer.value.pictures : [];
  const values = useValuesAtCursor(requests);
  const onKeyDown = (event: KeyboardEvent): void => {
    const index = rows.findIndex((row) => row === held);
    const to = movedTo(event.key, index, rows.length);
    const row = to === null ? undefined : rows[to];
    if (!row) return;
    event.preventDefault();
    holdSignal(row);
    document.getElementById(`signal ${row.key}`)?.focus();
  };
  return (
    <div className="signals-rows" onKeyDown={onKeyDown}>
      {rows.map((row, index) => (
        <OneRow
          key={row.key}
          row={row}
          held={row === held}
          picture={pictures[index] ?? null}
          atCursor={values.value?.[index] ?? Number.NaN}
          columns={columns}
        />
      ))}
    </div>
  );
}

interface OneRowProps {
  readonly row: SignalRow;
  readonly held: boolean;
  readonly picture: TracePicture | null;
  readonly atCursor: number;
  readonly columns: readonly ActionColumn[];
}

function OneRow({ row, held, picture, atCursor, columns }: OneRowProps): ReactNode {
  const { signal, stream } = row;
  const palette = usePalette();
  const window = useView((view) => view.window);
  const cursorS = useView((view) => view.cursorS);
  const group = useGroupOf(stream);
  const gaps = useGaps(stream);
  const color = group ? groupColor(palette, group) : (palette.groups['A'] ?? palette.ink2);
  const span = picture ? picture.greatest - picture.least : 0;
  const scene = useMemo(
    () =>
      traceScene({
        window,
        picture,
        gaps,
        columns,
        color,
        width: held ? 2 : 1.5,
        fillings: fillingsOf(signal),
        cursor: cursorS === null ? null : { atS: cursorS, value: atCursor, words: figureOf(signal, atCursor, span) },
        range:
          picture && Number.isFinite(picture.least)
            ? (rangeOf(picture, fillingsOf(signal)).map((end) => figureOf(signal, end, span)) as [string, string])
            : null,
      }),
    [window, picture, gaps, columns, color, held, cursorS, atCursor, signal, span],
  );
  return (
    <Row
      className={`signals-row ${held ? 'held-signal' : ''}`}
      label={
        <button
          type="button"
          id={`signal ${row.key}`}
          className="signals-label"
          aria-pressed={held}
          tabIndex={held ? 0 : -1}
          onClick={() => holdSignal(row)}
        >
          <StandingGlyph standing={signal.standing} />
          <span className="signals-name">
            <b className={signal.standing === 'guess' ? 'inferred' : ''}>{signal.name}</b>
            <span className="unseen">, {signal.standing}, in</span>
            <span className="mono dim">{shortId(stream)}</span>
          </span>
          <span className="dim small">{signal.unit}</span>
        </button>
      }
    >
      <Picture
        label={`Trace of ${signal.name}`}
        height={ROW_HEIGHT}
        scene={scene}
        table={picture && <TraceTable name={signal.name} unit={signal.unit} picture={picture} />}
      />
    </Row>
  );
}
