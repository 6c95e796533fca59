/**
 * One value of which the two maps know different runs: in one capture it went farther, so that more of its bits moved. The narrower says
 * itself which bits beside it never moved and may be its own (`mayExtend`); within these the wider one says more and nothing against it.
 */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import { isByHand } from '../../map/evidence.ts';
import { isSameWhen } from '../../map/pages.ts';
import type { MapSignal } from '../../map/schema.ts';
import { union } from './canonical.ts';
import type { Claim } from './claims.ts';
import { isBlank } from './merge-signal.ts';
import { isMadeName, stillDisputed, undisputed, type Ranked } from './rank.ts';

/** How many bits of the wider lie below and above the narrower; null where it is no run of it. */
function margins(wide: MapSignal, narrow: MapSignal): { readonly below: number; readonly above: number } | null {
  const [outer, inner] = [bitPositions(wide as Placement), bitPositions(narrow as Placement)];
  const below = outer.indexOf(inner[0] as number);
  if (below < 0 || inner.some((bit, index) => outer[below + index] !== bit)) return null;
  return { below, above: outer.length - inner.length - below };
}

function reachesAsFar(wide: MapSignal, narrow: MapSignal): boolean {
  const margin = margins(wide, narrow);
  const { mayExtend } = narrow;
  if (!margin || !mayExtend || isByHand(narrow) || !isSameWhen(wide.when, narrow.when)) return false;
  if (margin.below > mayExtend.below || margin.above > mayExtend.above) return false;
  // What was scaled or named by raw value holds no more when bits join below it; a sign does not when they join above.
  if (narrow.coding !== wide.coding && narrow.coding !== 'unsigned') return false;
  return isBlank(undisputed(narrow as Ranked) as MapSignal);
}

/** The wider one with what the narrower adds; null where they contradict each other. `id` of the frame. */
export function widerOf(
  a: Claim,
  b: Claim,
  id: string,
): { readonly wide: Claim; readonly narrow: Claim; readonly item: MapSignal } | null {
  if (a.section !== 'signals' || b.section !== 'signals') return null;
  const [x, y] = [a.item as MapSignal, b.item as MapSignal];
  const isFirst = reachesAsFar(x, y);
  if (!isFirst && !reachesAsFar(y, x)) return null;
  const [wide, narrow] = isFirst ? [x, y] : [y, x];
  const item = {
    ...wide,
    name: isMadeName(wide.name, id) && !isMadeName(narrow.name, id) ? narrow.name : wide.name,
    role: wide.role === 'unknown' ? narrow.role : wide.role,
    evidence: union(wide.evidence, narrow.evidence),
  };
  return {
    wide: isFirst ? a : b,
    narrow: isFirst ? b : a,
    item: stillDisputed(item as Ranked, [wide, narrow] as Ranked[]) as MapSignal,
  };
}
