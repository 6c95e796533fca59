/** The handover of a map, made once for the place and its panel alike. */
import type { Handover } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import { makeHandover } from './outputs.ts';

const made = new WeakMap<SignalMap, Handover>();
export function handoverOf(map: SignalMap): Handover {
  const known = made.get(map) ?? makeHandover(map);
  made.set(map, known);
  return known;
}
