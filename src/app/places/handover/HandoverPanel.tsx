/** The panel of Handover: the cautions that have to be read, what cannot be produced, what is left out and why, and what follows what. */
import type { ReactNode } from 'react';
import { useWide } from '../payloads/layout.ts';
import { Cautions } from './Cautions.tsx';
import { cautionsOf, useHandoverOptions } from './options.ts';
import { LeftOutPart } from './LeftOutPart.tsx';
import { NotProduced } from './NotProduced.tsx';
import { outputOf } from './registry.ts';
import { SequencesPart } from './sequences/SequencesPart.tsx';
import { useHandover } from './store.ts';
import { useMap } from './use-map.ts';

export function HandoverPanel(): ReactNode {
  const { map } = useMap();
  const options = useHandoverOptions();
  const output = outputOf(useHandover((state) => state.output));
  const wide = useWide();
  if (!map) return null;
  return (
    <div className="handover-panel">
      <NotProduced map={map} />
      {wide && <Cautions cautions={cautionsOf(map, options)} />}
      {output.Panel && <output.Panel map={map} />}
      <LeftOutPart map={map} />
      <SequencesPart map={map} />
    </div>
  );
}
