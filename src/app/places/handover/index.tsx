/** Handover: what does the controller get? */
import './handover.css';
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { placeName } from '../../pictures/bands-words.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { useCurrentCapture, useSurvey } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { percent, plural } from '../../words/format.ts';
import type { PlaceDefinition } from '../place.ts';
import { useWide } from '../payloads/layout.ts';
import { cautionsOf, leftOutOf, type Caution, type LeftOut } from './cautions.ts';
import { MapDrawn, nameKey } from './MapDrawn.tsx';
import { cFilesOf, outputsOf, type Output } from './outputs.ts';
import { copyMap, mapFileName, saveC, saveMap } from './saving.ts';
import { useHandover, wordsOf } from './store.ts';
import { textOf, useMap, type MapState } from './use-map.ts';

const NO_CAUTIONS: readonly Caution[] = [];

function Place(): ReactNode {
  const state = useMap();
  const { map } = state;
  const cautions = useMemo(() => (map ? cautionsOf(map) : NO_CAUTIONS), [map]);
  const output = useHandover((handover) => handover.output);
  useHandoverKeys(map, cautions);
  // Where the panel is a drawer or below, the cautions come first: they are shown before anything is saved.
  const wide = useWide();
  if (!map) return <Nothing state={state} />;
  const outputs = outputsOf(map);
  const shown = outputs.find(({ name }) => name === output) ?? (outputs[0] as Output);
  return (
    <div className="handover">
      {!wide && <Cautions cautions={cautions} />}
      <nav className="handover-outputs" aria-label="Outputs">
        {outputs.map((other) => (
          <button
            key={other.name}
            type="button"
            aria-current={other === shown ? 'true' : undefined}
            onClick={() => useHandover.getState().set({ output: other.name })}
          >
            <b>{other.title}</b>
            <span className="dim small">{other.line}</span>
          </button>
        ))}
        <p>
          <button
            type="button"
            className="button go"
            onClick={() => (shown.name === 'map' ? saveMap(map) : saveC(map, cautions))}
          >
            Save {shown.name === 'map' ? 'map' : 'C source'} <kbd>S</kbd>
          </button>
        </p>
        {shown.name === 'map' && (
          <p>
            <button type="button" className="button" onClick={() => void copyMap(map)}>
              Copy <kbd>Y</kbd>
            </button>
          </p>
        )}
        <p className="dim small">
          {shown.name === 'map' ? mapFileName(map) : 'signal_map.h, signal_map.c'}: written to this machine only.
        </p>
        <Waiting state={state} />
      </nav>
      <div className="handover-shown">
        {shown.name === 'map' ? <MapShown map={map} /> : <CShown map={map} cautions={cautions} />}
      </div>
    </div>
  );
}

/** Evidence that is still being worked out would make the map better: said, not waited for. */
function Waiting({ state }: { state: MapState }): ReactNode {
  const running = state.helpful.filter(({ slot }) => slot?.state === 'running');
  if (running.length === 0) return null;
  const share = Math.min(...running.map(({ slot }) => slot?.share ?? 0));
  return (
    <p className="small inferred" role="status">
      Evidence is still coming in, {percent(share)}: a map saved now is without it.
    </p>
  );
}

function MapShown({ map }: { map: SignalMap }): ReactNode {
  const shows = useHandover((state) => state.shows);
  const signals = useDossier(({ dossier }) => dossier.signals);
  const named = useMemo(() => new Set(signals.map((entry) => nameKey(entry, entry.signal))), [signals]);
  return (
    <>
      <h2 className="figure">Signal map</h2>
      <p className="dim small">
        {plural(named.size, 'signal')} named here; checked by its schema before it is saved. Upright is measured,{' '}
        <i>italic is inferred</i>.
      </p>
      {shows === 'drawn' ? (
        <MapDrawn key={named.size > 0 ? 'named' : 'all'} map={map} named={named} />
      ) : (
        <MapText map={map} />
      )}
    </>
  );
}

function MapText({ map }: { map: SignalMap }): ReactNode {
  const text = useMemo(() => textOf(map, 'when it is saved'), [map]);
  const words = text.ok ? text.value : text.problems.map(({ message }) => message).join('\n');
  return (
    <pre className="handover-text" tabIndex={0} aria-label="The map as text">
      {words}
    </pre>
  );
}

function CShown({ map, cautions }: { map: SignalMap; cautions: readonly Caution[] }): ReactNode {
  const { files } = useMemo(() => cFilesOf(map, cautions), [map, cautions]);
  return (
    <>
      <h2 className="figure">C source</h2>
      <p className="dim small">
        C99 without allocation. A payload to be sent starts from the one recorded at rest, never from zeros; what moves
        the machine stays out.
      </p>
      {files.map(({ name, text }) => (
        <details key={name} className="handover-file" open={name.endsWith('.h')}>
          <summary>
            <h3>
              {name} <small>{plural(text.split('\n').length, 'line')}</small>
            </h3>
          </summary>
          <pre className="handover-text" tabIndex={0} aria-label={name}>
            {text}
          </pre>
        </details>
      ))}
    </>
  );
}

function useHandoverKeys(map: SignalMap | null, cautions: readonly Caution[]): void {
  const group = useMemo<KeyGroup>(() => {
    const { set } = useHandover.getState();
    const state = useHandover.getState;
    return {
      title: 'Handover',
      bindings: [
        {
          key: 's',
          says: 'save what is shown',
          run: () => map && (state().output === 'map' ? saveMap(map) : saveC(map, cautions)),
        },
        { key: 'y', says: 'copy the map', run: () => map && void copyMap(map) },
        { key: 'v', says: 'drawn or as text', run: () => set({ shows: state().shows === 'drawn' ? 'text' : 'drawn' }) },
        { key: 'o', says: 'the other output', run: () => set({ output: state().output === 'map' ? 'c' : 'map' }) },
      ],
    };
  }, [map, cautions]);
  useKeys(group);
}

function Nothing({ state }: { state: MapState }): ReactNode {
  const current = useCurrentCapture();
  const running = state.needed.find(({ slot }) => slot?.state === 'running')?.slot;
  const failed = state.needed.find(({ slot }) => slot?.state === 'failed' || slot?.state === 'stopped');
  const reading = current?.open.phase === 'reading' || current?.open.phase === 'waiting';
  return (
    <div className="past-gutter need">
      <p role="status">
        {running
          ? `The map is put together when the fields are found: ${percent(running.share)}.`
          : failed
            ? `The fields were not found: ${failed.slot?.note || 'it was stopped'}.`
            : reading
              ? 'Reading the recording: the map can be saved once its fields are found.'
              : 'Nothing to hand over yet: open a recording first.'}
      </p>
      {failed ? (
        <button type="button" className="button" onClick={() => failed.again()}>
          Try again
        </button>
      ) : (
        !running &&
        !reading && (
          <button type="button" className="button" onClick={() => useView.getState().go('captures')}>
            Go to Captures <kbd>1</kbd>
          </button>
        )
      )}
    </div>
  );
}

function Panel(): ReactNode {
  const { map } = useMap();
  const cautions = useMemo(() => (map ? cautionsOf(map) : NO_CAUTIONS), [map]);
  const leftOut = useLeftOut(map, cautions);
  const wide = useWide();
  if (!map) return null;
  return (
    <div className="handover-panel">
      {wide && <Cautions cautions={cautions} />}
      <section>
        <h3>
          Left out <small>and why</small>
        </h3>
        {leftOut.length === 0 ? (
          <p className="small dim">Nothing: every identifier and every field found is in it.</p>
        ) : (
          <table className="list">
            <tbody>
              {leftOut.map(({ key, name, why, inferred }) => (
                <tr key={key}>
                  <td className="mono">{name}</td>
                  <td className={inferred ? 'inferred' : ''}>{why}</td>
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </section>
    </div>
  );
}

function useLeftOut(map: SignalMap | null, cautions: readonly Caution[]): readonly LeftOut[] {
  const survey = useSurvey().value;
  const decisions = useDossier(({ dossier }) => dossier.decisions);
  const output = useHandover((state) => state.output);
  return useMemo(() => {
    if (!map) return [];
    if (output === 'c')
      return cFilesOf(map, cautions).leftOut.map(({ name, why }) => ({ key: name, name, why, inferred: false }));
    const refused = decisions
      .filter(({ kind }) => kind === 'refused')
      .map(({ id, placement }) => ({ id, place: placeName(placement) }));
    return leftOutOf({ map, seen: survey?.frames ?? [], refused });
  }, [map, survey, decisions, output, cautions]);
}

function Cautions({ cautions }: { cautions: readonly Caution[] }): ReactNode {
  const read = useHandover((state) => state.read === wordsOf(cautions));
  const title = useDossier(({ dossier }) => dossier.part.destination || dossier.part.title);
  return (
    <section className="handover-cautions" aria-label="Cautions">
      <div className="stripes" aria-hidden="true" />
      <div className="handover-cautions-inner">
        <h2>This part can move{title ? `: ${title}` : ''}</h2>
        <ol>
          {cautions.map(({ key, words }) => (
            <li key={key}>{words}</li>
          ))}
        </ol>
        <label className="handover-read">
          <input
            type="checkbox"
            checked={read}
            onChange={(event) => useHandover.getState().set({ read: event.target.checked ? wordsOf(cautions) : null })}
          />
          I have read these. They go into every file that can send.
        </label>
      </div>
    </section>
  );
}

function Controls(): ReactNode {
  const shows = useHandover((state) => state.shows);
  const output = useHandover((state) => state.output);
  if (output !== 'map') return null;
  return (
    <span className="switch" role="group" aria-label="The map is shown">
      {(['drawn', 'text'] as const).map((choice) => (
        <button
          key={choice}
          type="button"
          aria-pressed={shows === choice}
          onClick={() => useHandover.getState().set({ shows: choice })}
        >
          {choice === 'drawn' ? 'drawn' : 'as text'}
        </button>
      ))}
    </span>
  );
}

function useLine(): string {
  const named = useDossier(({ dossier }) => dossier.signals.length);
  const current = useCurrentCapture();
  if (!current) return 'nothing to hand over';
  return named ? `${plural(named, 'signal')} to hand over` : 'a map of guesses only';
}

export const place: PlaceDefinition = {
  name: 'handover',
  title: 'Handover',
  question: 'What does the controller get?',
  showsTime: false,
  Place,
  Panel,
  Controls,
  useLine,
};
