/** Handover: what does the controller get? */
import './handover.css';
import { useMemo, type ReactNode } from 'react';
import type { Handover } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { placeName } from '../../pictures/bands-words.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { useCurrentCapture, useSurvey } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { percent, plural } from '../../words/format.ts';
import type { PlaceDefinition } from '../place.ts';
import { useWide } from '../payloads/layout.ts';
import { KeepAlive } from './KeepAlive.tsx';
import { leftOutOf, type LeftOut } from './left-out.ts';
import { MapDrawn, nameKey } from './MapDrawn.tsx';
import { inReadingOrder, makeHandover, OUTPUT_NAMES, outputsOf, textIn, type Output } from './outputs.ts';
import { allFileName, copyMap, mapFileName, saveAll, saveOutput } from './saving.ts';
import { useHandover, wordsOf } from './store.ts';
import { textOf, useMap, type MapState } from './use-map.ts';

const SAVES: Readonly<Record<Output['name'], string>> = {
  map: 'map',
  c: 'C source',
  'keep-alive': 'plan',
  report: 'report',
};

/** Made once a map, for the place and its panel alike. */
const made = new WeakMap<SignalMap, Handover>();
function handoverOf(map: SignalMap): Handover {
  const known = made.get(map) ?? makeHandover(map);
  made.set(map, known);
  return known;
}

function Place(): ReactNode {
  const state = useMap();
  const { map } = state;
  const handover = map && handoverOf(map);
  const output = useHandover(({ output: open }) => open);
  useHandoverKeys(map, handover);
  // Where the panel is a drawer or below, the cautions come first: they are shown before anything is saved.
  const wide = useWide();
  if (!map || !handover) return <Nothing state={state} />;
  const outputs = outputsOf(map, handover);
  const shown = outputs.find(({ name }) => name === output) ?? (outputs[0] as Output);
  return (
    <div className="handover">
      {!wide && <Cautions cautions={handover.cautions} />}
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
        <p className="handover-save">
          <button type="button" className="button go" onClick={() => saveOutput(map, handover, shown)}>
            Save {SAVES[shown.name]} <kbd>S</kbd>
          </button>
          {shown.name === 'map' && (
            <button type="button" className="button" onClick={() => void copyMap(map)}>
              Copy <kbd>Y</kbd>
            </button>
          )}
          <button type="button" className="button" onClick={() => saveAll(map, handover.cautions)}>
            Save all <kbd>A</kbd>
          </button>
        </p>
        <p className="dim small">
          {shown.name === 'map' ? mapFileName(map) : shown.files.map(({ name }) => name).join(', ')}; all together as{' '}
          {allFileName(map)}. Written to this machine only.
        </p>
        <Waiting state={state} />
      </nav>
      <div className="handover-shown">
        <Shown map={map} output={shown} />
      </div>
    </div>
  );
}

function Shown({ map, output }: { map: SignalMap; output: Output }): ReactNode {
  switch (output.name) {
    case 'map':
      return <MapShown map={map} />;
    case 'c':
      return (
        <FilesShown
          output={output}
          words="C99 without allocation. A payload to be sent starts from the one recorded at rest, never from zeros; what moves the machine stays out."
        />
      );
    case 'keep-alive':
      return (
        <>
          <h2 className="figure">Keep-alive plan</h2>
          <p className="dim small">
            What the part does not send itself and may wait for, as recorded. Which of it is needed only a bench trial
            shows.
          </p>
          <KeepAlive map={map} />
        </>
      );
    case 'report':
      return (
        <FilesShown
          output={output}
          words="For people: what was found, how far it is trusted, and the cautions. As text here; the other file is for reading and printing."
          only=".md"
        />
      );
  }
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

/** Files as text, the first one open. */
function FilesShown({ output, words, only }: { output: Output; words: string; only?: string }): ReactNode {
  const texts = useMemo(
    () =>
      output.files
        .filter(({ name }) => !only || name.endsWith(only))
        .map((file) => ({ name: file.name, text: textIn(file) })),
    [output.files, only],
  );
  return (
    <>
      <h2 className="figure">{output.title}</h2>
      <p className="dim small">{words}</p>
      {texts.map(({ name, text }, index) => (
        <details key={name} className="handover-file" open={index === 0}>
          <summary>
            <h3>
              {name} <small>{plural(text.split('\n').length, 'line')}</small>
            </h3>
          </summary>
          <pre className={`handover-text ${only ? 'wraps' : ''}`} tabIndex={0} aria-label={name}>
            {text}
          </pre>
        </details>
      ))}
    </>
  );
}

function useHandoverKeys(map: SignalMap | null, handover: Handover | null): void {
  const group = useMemo<KeyGroup>(() => {
    const { set } = useHandover.getState();
    const state = useHandover.getState;
    const next = (): (typeof OUTPUT_NAMES)[number] =>
      OUTPUT_NAMES[(OUTPUT_NAMES.indexOf(state().output) + 1) % OUTPUT_NAMES.length] ?? 'map';
    const saveShown = (): void => {
      const shown = map && handover && outputsOf(map, handover).find(({ name }) => name === state().output);
      if (shown) saveOutput(map, handover, shown);
    };
    return {
      title: 'Handover',
      bindings: [
        { key: 's', says: 'save what is shown', run: saveShown },
        { key: 'a', says: 'save all as one file', run: () => map && handover && saveAll(map, handover.cautions) },
        { key: 'y', says: 'copy the map', run: () => map && void copyMap(map) },
        { key: 'v', says: 'drawn or as text', run: () => set({ shows: state().shows === 'drawn' ? 'text' : 'drawn' }) },
        { key: 'o', says: 'the next output', run: () => set({ output: next() }) },
      ],
    };
  }, [map, handover]);
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
  const leftOut = useLeftOut(map);
  const wide = useWide();
  if (!map) return null;
  const { cautions } = handoverOf(map);
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

function useLeftOut(map: SignalMap | null): readonly LeftOut[] {
  const survey = useSurvey().value;
  const decisions = useDossier(({ dossier }) => dossier.decisions);
  const output = useHandover((state) => state.output);
  return useMemo(() => {
    if (!map) return [];
    if (output === 'c')
      return handoverOf(map).leftOut.map(({ name, why }) => ({ key: name, name, why, inferred: false }));
    const refused = decisions
      .filter(({ kind }) => kind === 'refused')
      .map(({ id, placement }) => ({ id, place: placeName(placement) }));
    return leftOutOf({ map, seen: survey?.frames ?? [], refused });
  }, [map, survey, decisions, output]);
}

function Cautions({ cautions }: { cautions: readonly string[] }): ReactNode {
  const read = useHandover((state) => state.read === wordsOf(cautions));
  const title = useDossier(({ dossier }) => dossier.part.destination || dossier.part.title);
  return (
    <section className="handover-cautions" aria-label="Cautions">
      <div className="stripes" aria-hidden="true" />
      <div className="handover-cautions-inner">
        <h2>This part can move{title ? `: ${title}` : ''}</h2>
        <ol>
          {inReadingOrder(cautions).map((words) => (
            <li key={words}>{words}</li>
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
