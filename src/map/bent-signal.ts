/** A signal that a table decodes, as a bent tie gives it. */
import type { MapSignal } from './schema.ts';

/** table: [raw, physical], ascending in raw. What was observed is what it spans. */
export function decodedByTable(signal: MapSignal, table: readonly (readonly [number, number])[]): MapSignal {
  const values = table.map(([, physical]) => physical);
  return {
    ...signal,
    kind: 'number',
    scale: 1,
    offset: 0,
    table: table.map(([raw, physical]): [number, number] => [raw, physical]),
    observed: { min: Math.min(...values), max: Math.max(...values) },
  };
}
