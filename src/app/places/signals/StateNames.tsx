/** States of the held signal over time, and their names: what marks said of a raw value is proposed in italics; Enter takes it. */
import { useMemo, useState, type ReactNode } from 'react';
import type { MapSignal } from '../../../map/schema.ts';
import { kindWords } from '../../pictures/bands-words.ts';
import { placementLength } from '../../../frames/bits.ts';
import { drawColumns, xOf, type ActionColumn } from '../../pictures/weave-scene.ts';
import { gapColumns } from '../../pictures/weave-columns.ts';
import { useLinks, useRulerMarks } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import type { Scene } from '../../surface/surface.ts';
import type { TracePicture } from '../../../jobs/engine-types.ts';
import type { Gap } from '../../../timing/types.ts';
import { useSamples, useTraces } from '../payloads/asking.ts';
import { useGaps } from '../payloads/TraceRows.tsx';
import { unsignedRequestOf } from '../payloads/trace-request.ts';
import { changeSignal } from './dossier-signals.ts';
import type { SignalRow } from './held-signal.ts';
import { withEvidence } from './naming.ts';
import { momentOf, proposalWords, proposeStates, type StateProposal } from './state-proposals.ts';

const LANES_MOST = 16;
const STRIP_HEIGHT = 62;

export const hasStates = (signal: MapSignal): boolean =>
  (signal.kind === 'states' || signal.kind === 'flag') && 2 ** placementLength(signal) <= 256;

/** Raw values worth a name: all of a short field, else those named, seen in view, or proposed. */
export function rawValuesOf(signal: MapSignal, seen: readonly number[], proposed: readonly StateProposal[]): number[] {
  const bits = placementLength(signal);
  const all = bits <= 3 ? Array.from({ length: 2 ** bits }, (_, raw) => raw) : [];
  const named = Object.keys(signal.states).map(Number).filter(Number.isFinite);
  return [...new Set([...all, ...named, ...seen, ...proposed.map(({ raw }) => raw)])]
    .sort((a, b) => a - b)
    .slice(0, LANES_MOST);
}

/** Proposals for a signal from the marks that speak of it: those with values, else spans of the action it answers. */
export function useProposals(row: SignalRow): readonly StateProposal[] {
  const { marks, clock } = useRulerMarks();
  const links = useLinks().value;
  const said = useMemo(() => {
    const answered = links?.actions.filter(({ links: found }) =>
      found.some(
        (link) => link.q <= 0.05 && link.id === row.frame.id && link.bus === row.frame.bus && sameLsb(link, row.signal),
      ),
    );
    const actions = new Set(answered?.map(({ action }) => action));
    const valued = marks.filter((mark) => mark.value && (actions.size === 0 || actions.has(mark.action)));
    const spans = marks.filter((mark) => actions.has(mark.action) && mark.endS !== null);
    const speaking = valued.length ? valued : spans;
    return speaking.map((mark) => ({
      word: mark.value ?? mark.action,
      atS: momentOf(mark, valued.length ? valued.filter(({ action }) => action === mark.action) : [], 0),
    }));
    // The clock is in the marks already: they stand in capture time.
  }, [marks, links, row]);
  void clock;
  const request = useMemo(() => unsignedRequestOf(row.request), [row.request]);
  const instants = useMemo(() => said.map(({ atS }) => atS), [said]);
  const samples = useSamples(request, instants);
  const raw = samples.pending ? null : samples.value;
  return useMemo(
    () => (raw ? proposeStates(said.map(({ word }, index) => ({ word, raw: raw[index] as number }))) : []),
    [raw, said],
  );
}

const sameLsb = (a: { lsb: { byte: number; bit: number }; length: number }, b: typeof a): boolean =>
  a.lsb.byte === b.lsb.byte && a.lsb.bit === b.lsb.bit && a.length === b.length;

export function StateNames({ row, columns }: { row: SignalRow; columns: readonly ActionColumn[] }): ReactNode {
  const { signal } = row;
  const proposals = useProposals(row);
  const request = useMemo(() => [unsignedRequestOf(row.request)], [row.request]);
  const picture = useTraces(request).value?.pictures[0] ?? null;
  const gaps = useGaps(row.stream);
  const window = useView((view) => view.window);
  const seen = useMemo(() => distinct(picture), [picture]);
  const raws = useMemo(() => rawValuesOf(signal, seen, proposals), [signal, seen, proposals]);
  const scene = useMemo(
    () => stateScene({ window, picture, gaps, columns, raws, names: signal.states }),
    [window, picture, gaps, columns, raws, signal.states],
  );
  return (
    <>
      <Row
        className="signals-strip"
        label={
          <div className="signals-part">
            <b>{signal.name}</b>
            <span className="dim tiny">{kindWords(signal)}</span>
          </div>
        }
      >
        <Picture label={`States of ${signal.name}`} height={STRIP_HEIGHT} scene={scene} />
      </Row>
      <Row label={<div className="signals-part dim tiny">name its states</div>}>
        <div className="signals-names">
          {raws.map((raw) => (
            <StateName
              key={`${row.key} ${raw}`}
              row={row}
              raw={raw}
              proposal={proposals.find((proposal) => proposal.raw === raw) ?? null}
            />
          ))}
          {raws.length === 0 && <p className="dim small">No value seen in this view yet: zoom out with 0.</p>}
        </div>
      </Row>
    </>
  );
}

function distinct(picture: TracePicture | null): number[] {
  if (!picture) return [];
  const seen = new Set<number>();
  for (const values of [picture.last, picture.low, picture.high])
    for (const value of values) {
      if (value === value) seen.add(value);
      if (seen.size > LANES_MOST) return [...seen];
    }
  return [...seen];
}

function StateName({ row, raw, proposal }: { row: SignalRow; raw: number; proposal: StateProposal | null }): ReactNode {
  const name = row.signal.states[String(raw)] ?? '';
  const [typed, setTyped] = useState<string | null>(null);
  const proposed = name === '' && typed === null && proposal !== null;
  const keep = (words: string): void => {
    setTyped(null);
    if (words.trim() === name) return;
    nameState(row, raw, words.trim(), words.trim() === proposal?.name ? proposal : null);
  };
  return (
    <label className="signals-state">
      <span className="mono">{raw}</span>
      <input
        className={`field ${proposed ? 'inferred' : ''}`}
        aria-label={`Name of state ${raw}${proposed ? `, proposed: ${proposal.name}` : ''}`}
        value={typed ?? (name || (proposed ? proposal.name : ''))}
        onChange={(event) => setTyped(event.target.value)}
        onKeyDown={(event) => {
          if (event.key === 'Enter') keep(typed ?? proposal?.name ?? name);
          if (event.key === 'Escape') setTyped(null);
        }}
        onBlur={() => typed !== null && keep(typed)}
      />
      <span className="tiny dim">
        {proposed ? (
          <>
            {proposalWords(proposal)}, <kbd>Enter</kbd> takes it
          </>
        ) : name ? (
          proposal && proposal.name === name ? (
            proposalWords(proposal)
          ) : (
            'named by hand'
          )
        ) : (
          ' '
        )}
      </span>
    </label>
  );
}

function nameState(row: SignalRow, raw: number, words: string, from: StateProposal | null): void {
  const { change } = useDossier.getState();
  const capture = useView.getState().captureId ?? undefined;
  change(words ? `name state ${words}` : `clear state ${raw}`, (dossier) =>
    changeSignal(dossier, row.frame, row.signal.name, (signal) => {
      const states = { ...signal.states };
      if (words) states[String(raw)] = words;
      else delete states[String(raw)];
      const named = { ...signal, states };
      return from && from.marks > 1
        ? withEvidence(named, {
            kind: 'states',
            ...(capture ? { capture } : {}),
            state: raw,
            marks: from.marks,
            against: from.against,
          })
        : named;
    }),
  );
}

interface StateQuestion {
  readonly window: { readonly fromS: number; readonly toS: number };
  readonly picture: TracePicture | null;
  readonly gaps: readonly Gap[];
  readonly columns: readonly ActionColumn[];
  readonly raws: readonly number[];
  readonly names: Readonly<Record<string, string>>;
}

const NAMED_LEAST = 60;

/** Blocks in a lane a state, the greatest at the top; an unnamed one is only outlined. */
export function stateScene({ window, picture, gaps, columns, raws, names }: StateQuestion): Scene {
  return (surface, palette) => {
    drawColumns(surface, palette, window, columns);
    if (!picture || raws.length === 0) return;
    const lane = Math.min(14, (surface.height - 4) / raws.length);
    const top = (raw: number): number => surface.height - 2 - (raws.indexOf(raw) + 1) * lane;
    for (const { fromS, toS, raw } of runsOf(picture, gaps)) {
      if (!raws.includes(raw)) continue;
      const [left, right] = [
        Math.max(0, xOf(window, surface.width, fromS)),
        Math.min(surface.width, xOf(window, surface.width, toS)),
      ];
      const width = Math.max(1, right - left);
      const name = names[String(raw)];
      if (name) surface.rect(left, top(raw), width, lane - 1, { color: palette.ink2 });
      else
        surface.frame(left + 0.5, top(raw) + 0.5, Math.max(1, width - 1), lane - 2, {
          color: palette.ink2,
          dash: [2, 2],
        });
      if (width > NAMED_LEAST)
        surface.text(
          left + 6,
          top(raw) + (raws.indexOf(raw) > 1 ? lane + 11 : -4),
          name ? `${raw} = ${name}` : `${raw}`,
          {
            color: palette.ink,
            size: 11,
            halo: palette.ground,
          },
        );
    }
  };
}

/** Stretches of one value; cut in gaps. */
export function runsOf(picture: TracePicture, gaps: readonly Gap[]): { fromS: number; toS: number; raw: number }[] {
  const { fromS, toS, columns } = picture.window;
  const at = (column: number): number => fromS + (column / columns) * (toS - fromS);
  const cut = gapColumns({ window: picture.window, gaps });
  const runs: { fromS: number; toS: number; raw: number }[] = [];
  let raw = Number.NaN;
  let begun = 0;
  const close = (column: number): void => {
    if (raw === raw) runs.push({ fromS: at(begun), toS: at(column), raw });
  };
  for (let column = 0; column < columns; column++) {
    const last = picture.last[column] as number;
    const now = last === last ? last : cut[column] ? Number.NaN : raw;
    if (now === raw || (now !== now && raw !== raw)) continue;
    close(column);
    raw = now;
    begun = column;
  }
  close(columns);
  return runs;
}
