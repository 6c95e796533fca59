/** Which identifiers are network management, of what kind, and what follows for a controller that takes their place. */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable } from '../../frames/table.ts';
import type { Gap, SurveyFrame } from '../types.ts';
import { families } from './candidates.ts';
import { partialNetwork } from './partial-network.ts';
import { ringOf } from './ring.ts';

export interface NetworkRole {
  readonly kind: 'partial-network' | 'ring';
  /** The node's number, as its payload or the others' give it. */
  readonly node: number;
  /** Of a ring: the nodes that it named as the next, the most frequent first. */
  readonly successors?: readonly number[];
  /** For a person, with figures. */
  readonly why: string;
}

/**
 * @param rows the survey's, in the order of the table's streams, as is the answer
 * @param silences by bus, when all of it was silent
 * Cost: the frames of slow identifiers.
 */
export function* networkRoles(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  silences: (bus: string) => readonly Gap[],
): Steps<(NetworkRole | null)[]> {
  const roles = rows.map((): NetworkRole | null => null);
  if (table.origin.kind === 'none') return roles;
  for (const family of families(table.streams, rows)) {
    const ring = ringOf(family);
    yield;
    for (const { candidate, node, successors, why } of ring)
      roles[candidate.at] = { kind: 'ring', node, successors, why };
    if (ring.length > 0) continue;
    const bus = family[0]?.stream.bus ?? '';
    for (const { candidate, node, why } of partialNetwork(family, silences(bus))) {
      roles[candidate.at] = { kind: 'partial-network', node, why };
    }
    yield;
  }
  return roles;
}
