/** States of the held signal over time, and their names: what marks said of a raw value is proposed in italics; Enter takes it. */
import { useMemo, useState, type ReactNode } from 'react';
import { kindWords } from '../../pictures/bands-words.ts';
import type { ActionColumn } from '../../pictures/weave-scene.ts';
import { useLinks, useRulerMarks } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { Row } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import { useSamples, useTraces } from '../payloads/asking.ts';
import { useGaps } from '../payloads/TraceRows.tsx';
import { unsignedRequestOf } from '../payloads/trace-request.ts';
import { changeSignal } from './dossier-signals.ts';
import type { SignalRow } from './held-signal.ts';
import { withEvidence } from './naming.ts';
import { distinct, rawValuesOf, stateScene } from './state-runs.ts';
import { momentOf, proposalWords, proposeStates, type StateProposal } from './state-proposals.ts';

const STRIP_HEIGHT = 62;

/** Proposals for a signal from the marks that speak of it: those with values, else spans of the action it answers. */
function useProposals(row: SignalRow): readonly StateProposal[] {
  const { marks } = useRulerMarks();
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
  }, [marks, links, row]);
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
