/** The signal map: as it reads, or as its file has it. */
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { FileText } from '../FileText.tsx';
import { ShowsSwitch } from '../ShowsSwitch.tsx';
import type { OutputDefinition, OutputProps } from '../output.ts';
import { mapFileName, saveMap } from '../saving.ts';
import { useHandover } from '../store.ts';
import { MapDrawn, nameKey } from './MapDrawn.tsx';

const FILES = /^signal-map\.json$/;

function Shown({ map }: OutputProps): ReactNode {
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
        <FileText map={map} output="map" files={FILES} />
      )}
    </>
  );
}

function useLine({ frames }: SignalMap): string {
  const signals = frames.reduce((sum, frame) => sum + frame.signals.length, 0);
  return `${plural(frames.length, 'frame')}, ${plural(signals, 'signal')}`;
}

export const output: OutputDefinition = {
  name: 'map',
  title: 'Signal map',
  saves: 'map',
  files: FILES,
  sends: false,
  useLine,
  Shown,
  Controls: ShowsSwitch,
  writes: mapFileName,
  save: saveMap,
};
