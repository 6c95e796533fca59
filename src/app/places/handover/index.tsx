/** Handover: what does the controller get? */
import './handover.css';
import { useMemo, type ReactNode } from 'react';
import type { Handover } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { percent, plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { useWide } from '../payloads/layout.ts';
import { Cautions, HandoverPanel } from './HandoverPanel.tsx';
import { handoverOf } from './made.ts';
import { Shown } from './Shown.tsx';
import { OUTPUT_NAMES, outputsOf, type Output } from './outputs.ts';
import { allFileName, copyMap, mapFileName, saveAll, saveOutput } from './saving.ts';
import { useHandover } from './store.ts';
import { useMap, type MapState } from './use-map.ts';

const SAVES: Readonly<Record<Output['name'], string>> = {
  map: 'map',
  c: 'C source',
  'keep-alive': 'plan',
  report: 'report',
};

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
        !running && !reading && <GoToCaptures />
      )}
    </div>
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
  Panel: HandoverPanel,
  Controls,
  useLine,
};
