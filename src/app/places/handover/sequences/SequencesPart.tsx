/** What follows an event, drawn: one sequence of the map at a time, chosen by its name. */
import { useMemo, type ReactNode } from 'react';
import type { SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { DelayBars } from '../DelayBars.tsx';
import { useHandover } from '../store.ts';
import { firstShown, rowsOf } from './model.ts';

/** So many are drawn before the rest is folded. */
const DRAWN = 12;

export function SequencesPart({ map }: { map: SignalMap }): ReactNode {
  const { sequences, frames } = map;
  const chosen = useHandover((state) => state.sequence);
  const shown = sequences.find(({ name }) => name === chosen) ?? firstShown(sequences);
  const rows = useMemo(() => (shown ? rowsOf(shown, frames) : []), [shown, frames]);
  if (!shown)
    return (
      <section>
        <h3>What follows what</h3>
        <p className="small dim">No sequence found: mark the key a few times, and what follows it is found here.</p>
      </section>
    );
  return (
    <section>
      <h3>
        After {shown.name} <small>{plural(shown.n, 'time')}, in ms</small>
      </h3>
      {sequences.length > 1 && (
        <select
          className="field handover-sequence"
          aria-label="Sequence"
          value={shown.name}
          onChange={(event) => useHandover.getState().set({ sequence: event.target.value })}
        >
          {sequences.map(({ name, n }) => (
            <option key={name} value={name}>
              {name}, {plural(n, 'time')}
            </option>
          ))}
        </select>
      )}
      <DelayBars rows={rows.slice(0, DRAWN)} label={`After ${shown.name}`} />
      {rows.length > DRAWN && (
        <details className="small handover-more">
          <summary>{rows.length - DRAWN} later</summary>
          <DelayBars rows={rows.slice(DRAWN)} label={`Later after ${shown.name}`} />
        </details>
      )}
    </section>
  );
}
