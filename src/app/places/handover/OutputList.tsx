/** The outputs with how each stands, and saving: the one that is shown, or all together. */
import type { ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { bytes, percent } from '../../../kit/sheet-figures.ts';
import { useHandoverOptions } from './options.ts';
import { filesOf, useMade } from './making/use-made.ts';
import type { OutputDefinition } from './output.ts';
import { OUTPUTS } from './registry.ts';
import { allFileName, copyMap, saveAll, saveOutput } from './saving.ts';
import { useHandover } from './store.ts';
import type { MapState } from './use-map.ts';

interface ListProps {
  readonly state: MapState;
  readonly map: SignalMap;
  readonly open: OutputDefinition;
}

export function OutputList({ state, map, open }: ListProps): ReactNode {
  const options = useHandoverOptions();
  return (
    <nav className="handover-outputs" aria-label="Outputs">
      <ul>
        {OUTPUTS.map((output) => (
          <li key={output.name}>
            <OutputItem output={output} map={map} isOpen={output === open} />
          </li>
        ))}
      </ul>
      <p className="handover-save">
        <button type="button" className="button go" onClick={() => void saveOutput(map, options, open)}>
          Save {open.saves} <kbd>S</kbd>
        </button>
        {open.name === 'map' && (
          <button type="button" className="button" onClick={() => void copyMap(map, options)}>
            Copy <kbd>Y</kbd>
          </button>
        )}
        <button type="button" className="button" onClick={() => void saveAll(map, options)}>
          Save all <kbd>A</kbd>
        </button>
      </p>
      <Written map={map} open={open} />
      <Waiting state={state} />
    </nav>
  );
}

function OutputItem({ output, map, isOpen }: { output: OutputDefinition; map: SignalMap; isOpen: boolean }): ReactNode {
  const line = output.useLine(map);
  return (
    <button
      type="button"
      aria-current={isOpen ? 'true' : undefined}
      onClick={() => useHandover.getState().set({ output: output.name })}
    >
      <b>{output.title}</b>
      <span className="dim small">{line}</span>
    </button>
  );
}

/** What would be written, and where to. */
function Written({ map, open }: { map: SignalMap; open: OutputDefinition }): ReactNode {
  const { handover } = useMade(map, useHandoverOptions());
  const files = filesOf(handover, open.files);
  const names = open.writes?.(map) ?? files.map(({ name }) => name).join(', ');
  const all = handover?.files.reduce((sum, file) => sum + file.bytes.length, 0);
  return (
    <p className="dim small handover-written">
      {names && <span>{names}.</span>}
      <span>
        All: {allFileName(map)}
        {handover && all !== undefined ? `, ${handover.files.length} files, ${bytes(all)} unpacked` : ''}.
      </span>
      <span>Written to this machine only.</span>
    </p>
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
