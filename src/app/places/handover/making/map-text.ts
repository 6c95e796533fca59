/** The map's file: written, and read back through the schema. */
import { parseMap } from '../../../../map/parse.ts';
import { printMap } from '../../../../map/print.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import type { Outcome } from '../../../../kit/outcome.ts';

/** What does not come back whole is never saved. @param at the moment of saving, ISO 8601 */
export function textOf(map: SignalMap, at: string): Outcome<string> {
  const text = printMap({ ...map, made: { ...map.made, at } });
  const read = parseMap(text, 'the map');
  return read.ok ? { ok: true, value: text, warnings: read.warnings } : read;
}
