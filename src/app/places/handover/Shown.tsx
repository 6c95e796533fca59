/** The output that is open: the map drawn or as text, files as text, the plan as a table. */
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { useDossier } from '../../stores/dossier.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { KeepAlive } from './KeepAlive.tsx';
import { MapDrawn, nameKey } from './MapDrawn.tsx';
import { textIn, type Output } from './outputs.ts';
import { useHandover } from './store.ts';
import { textOf } from './use-map.ts';

export function Shown({ map, output }: { map: SignalMap; output: Output }): ReactNode {
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
