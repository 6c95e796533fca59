/** Handover: what does the controller get? */
import './handover.css';
import { useMemo, type ReactNode } from 'react';
import type { HandoverOptions } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { useWide } from '../payloads/layout.ts';
import { Cautions } from './Cautions.tsx';
import { cautionsOf, useHandoverOptions } from './options.ts';
import { nextFile } from './FileText.tsx';
import { HandoverPanel } from './HandoverPanel.tsx';
import { filesOf, useMade, useMaking } from './making/use-made.ts';
import { Nothing } from './Nothing.tsx';
import { OutputList } from './OutputList.tsx';
import { outputBeside, outputOf } from './registry.ts';
import { copyMap, goToCautions, saveAll, saveOutput } from './saving.ts';
import { useHandover } from './store.ts';
import { AskPlan } from './plan/AskPlan.tsx';
import { useMap } from './use-map.ts';

function Place(): ReactNode {
  const state = useMap();
  const { map } = state;
  const options = useHandoverOptions();
  const output = outputOf(useHandover(({ output: open }) => open));
  useMaking(map, options);
  useHandoverKeys(map, options);
  // Where the panel is a drawer or below, the cautions come first: they are shown before anything is saved.
  const wide = useWide();
  if (!map) return <Nothing state={state} />;
  return (
    <div className="handover">
      <AskPlan map={map} calm={!state.helpful.some(({ slot }) => slot?.state === 'running')} />
      {!wide && <Cautions cautions={cautionsOf(map, options)} />}
      <OutputList state={state} map={map} open={output} />
      <div className={`handover-shown handover-of-${output.name}`}>
        <output.Shown map={map} />
      </div>
    </div>
  );
}

function useHandoverKeys(map: SignalMap | null, options: HandoverOptions): void {
  const { handover } = useMade(map, options);
  const group = useMemo<KeyGroup>(() => {
    const state = useHandover.getState;
    const { set } = state();
    const shown = () => outputOf(state().output);
    const beside = (by: number): void => set({ output: outputBeside(state().output, by) });
    return {
      title: 'Handover',
      bindings: [
        { key: 'o', says: 'the next output', run: () => beside(1) },
        { key: 'i', says: 'the output before', run: () => beside(-1) },
        { key: 's', says: 'save what is shown', run: () => map && void saveOutput(map, options, shown()) },
        { key: 'a', says: 'save all as one file', run: () => map && void saveAll(map, options) },
        { key: 'y', says: 'copy the map', run: () => map && void copyMap(map, options) },
        { key: 'v', says: 'drawn or as text', run: () => set({ shows: state().shows === 'drawn' ? 'text' : 'drawn' }) },
        { key: 'f', says: 'the next file', run: () => nextFile(shown().name, filesOf(handover, shown().files)) },
        { key: 'k', says: 'go to the cautions', run: goToCautions },
      ],
    };
  }, [map, options, handover]);
  useKeys(group);
}

function Controls(): ReactNode {
  const output = outputOf(useHandover((state) => state.output));
  return output.Controls ? <output.Controls /> : null;
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
