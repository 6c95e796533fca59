/** Frames down the sheet, a column a kind of item and a thread through time; the items of the open one stand below it. Arrows move. */
import { useEffect, useMemo, useRef, type KeyboardEvent, type ReactNode } from 'react';
import { useActionsShown } from '../payloads/actions-shown.ts';
import { usePhone } from '../payloads/layout.ts';
import { MarksInView } from '../payloads/MarksInView.tsx';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { movedTo } from '../../shell/list-keys.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { useRulerMarks } from '../../stores/asking.ts';
import { FrameLine } from './FrameLine.tsx';
import { holdFrame, holdItem, stopsOf, type Shown } from './held.ts';
import { ItemLine } from './ItemLine.tsx';
import { ItemTraces } from './ItemTraces.tsx';
import { HeldItem } from './HeldItem.tsx';
import { kindWords, type Filter, type FrameRow } from './rows.ts';
import { useProof } from './store.ts';

const HEAD_HEIGHT = 22;

const NO_COLUMNS: readonly ActionColumn[] = [];

const rowId = (key: string): string => `proof ${key}`;

export function Verdicts({ shown }: { shown: Shown }): ReactNode {
  const { rows, kinds, frame, item } = shown;
  const open = useProof((state) => state.open);
  const openKey = open ? (frame?.key ?? null) : null;
  const actions = useActionsShown();
  // A mark drawn where it was not made would explain what it has no part in.
  const { clockKnown } = useRulerMarks();
  const columns = clockKnown ? actions.columns : NO_COLUMNS;
  const stops = useMemo(() => stopsOf(rows, openKey), [rows, openKey]);
  const at = stops.findIndex((stop) => stop.frame === frame && stop.item === item);
  const list = useRef<HTMLDivElement>(null);
  const go = (to: number): void => {
    const stop = stops[to];
    if (!stop) return;
    if (stop.item) holdItem(stop.frame, stop.item);
    else holdFrame(stop.frame);
    document.getElementById(rowId(stop.item?.key ?? stop.frame.key))?.focus();
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    const to = movedTo(event.key, at, stops.length);
    if (event.key === 'Escape' && frame && open) {
      holdFrame(frame, false);
      document.getElementById(rowId(frame.key))?.focus();
    } else if (to !== null) go(to);
    else return;
    event.preventDefault();
  };
  useEffect(() => {
    const held = document.getElementById(rowId(item?.key ?? frame?.key ?? ''));
    if (list.current?.contains(held)) held?.scrollIntoView({ block: 'nearest' });
  }, [frame?.key, item?.key]);
  return (
    <TimeSheet className="proof-sheet">
      <Heads
        kinds={kinds}
        heads={clockKnown ? actions.heads : NO_COLUMNS}
        waits={!clockKnown && actions.heads.length > 0}
      />
      <div ref={list} className="proof-rows" onKeyDown={onKeyDown}>
        {shown.groups.map((group) => (
          <div key={group.title} role="group" aria-label={group.title ?? 'frames'}>
            {group.title && <p className="proof-bus tiny dimmer">{group.title}</p>}
            {group.rows.map((row) => (
              <Frame
                key={row.key}
                row={row}
                shown={shown}
                open={row.key === openKey}
                reachable={row === frame ? item === null : at < 0 && row === rows[0]}
                columns={columns}
              />
            ))}
          </div>
        ))}
      </div>
      {rows.length === 0 && <NoneSuch />}
    </TimeSheet>
  );
}

interface FrameProps {
  readonly row: FrameRow;
  readonly shown: Shown;
  readonly open: boolean;
  readonly reachable: boolean;
  readonly columns: readonly ActionColumn[];
}

function Frame({ row, shown: { frame, item, kinds }, open, reachable, columns }: FrameProps): ReactNode {
  const phone = usePhone();
  return (
    <div className={`proof-frame ${open ? 'open' : ''}`}>
      <FrameLine
        row={row}
        id={rowId(row.key)}
        kinds={kinds}
        columns={columns}
        held={row === frame && item === null}
        open={open}
        reachable={reachable}
      />
      {open &&
        row.items.map((one) => (
          <div key={one.key}>
            <ItemLine frame={row} row={one} id={rowId(one.key)} columns={columns} held={one === item} />
            {one === item && <ItemTraces frame={row} row={one} columns={columns} />}
            {one === item && phone && (
              <div className="proof-item-words">
                <HeldItem frame={row} row={one} />
              </div>
            )}
          </div>
        ))}
    </div>
  );
}

const NONE_WORDS: Readonly<Record<Filter, string>> = {
  all: 'The map has no frames.',
  holds: 'Nothing holds against this capture.',
  fails: 'Nothing fails against this capture.',
  'not-exercised': 'Everything in the map was exercised by this capture.',
};

function NoneSuch(): ReactNode {
  const filter = useProof((state) => state.filter);
  return <p className="past-gutter proof-none">{NONE_WORDS[filter]}</p>;
}

interface HeadsProps {
  readonly kinds: readonly string[];
  readonly heads: readonly ActionColumn[];
  /** There are marks, and it is not told yet where they stand. */
  readonly waits: boolean;
}

function Heads({ kinds, heads, waits }: HeadsProps): ReactNode {
  return (
    <Row
      className="proof-heads"
      label={
        <span className="proof-columns" aria-hidden="true">
          {kinds.map((kind) => (
            <span key={kind}>
              <i>{kindWords(kind)}</i>
            </span>
          ))}
        </span>
      }
    >
      {waits && (
        <p className="proof-marks-wait tiny dimmer">The marks of this capture stand here once their clock is told.</p>
      )}
      <MarksInView heads={heads} height={HEAD_HEIGHT} className="proof-marks" />
    </Row>
  );
}
