/** What can take part in a story: fields that hold few values and change now and then, and frames that begin and fall silent. */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import type { FieldSeries } from '../map/field-series.ts';
import { candidatesOf, type Candidate, type ProposedFrame } from '../map/proposed-fields.ts';
import { knownSeries } from './no-data.ts';
import { presences, type Presence, type SenderOf } from './presence.ts';

/** A field with more different values than this is a number, and no step is one of its values; what was taken for a number has fewer yet. */
const VALUES_MOST = 16;
const NUMBER_VALUES_MOST = 6;
/** Changes a minute above which a field is too restless to tell a story. */
const CHANGES_A_MINUTE = 20;
export interface Change {
  readonly atS: number;
  readonly from: number;
  readonly to: number;
}

/** Of frames, 0 is silent and 1 is sending. */
export type Teller = { readonly changes: readonly Change[] } & (
  { readonly kind: 'field'; readonly candidate: Candidate } | { readonly kind: 'frames'; readonly presence: Presence }
);

/** All changes of a field that holds few values, or null where it is a number or restless. */
function changesOf({ field }: Candidate, { timeUs, value }: FieldSeries, durationS: number): readonly Change[] | null {
  const most = Math.max(20, (CHANGES_A_MINUTE * durationS) / 60);
  const valuesMost = field.kind === 'number' ? NUMBER_VALUES_MOST : VALUES_MOST;
  const values = new Set<number>();
  const changes: Change[] = [];
  for (let k = 0; k < value.length; k++) {
    const now = value[k] as number;
    if (!values.has(now) && values.add(now).size > valuesMost) return null;
    if (k === 0 || now === value[k - 1]) continue;
    changes.push({ atS: (timeUs[k] as number) / 1e6, from: value[k - 1] as number, to: now });
    if (changes.length > most) return null;
  }
  return changes;
}

export async function tellersOf(
  table: FrameTable,
  findings: readonly ProposedFrame[],
  senderOf: SenderOf,
  control: Control,
): Promise<Teller[]> {
  const durationS = Math.max(1, table.endUs / 1e6);
  const all = candidatesOf(table, findings);
  const knownOf = knownSeries(all);
  const candidates = all.filter(({ field }) => field.coding === 'unsigned');
  const tellers: Teller[] = presences(table, senderOf).map((presence) => ({
    kind: 'frames',
    presence,
    changes: presence.changes.map(({ atS, isSending }) => ({ atS, from: isSending ? 0 : 1, to: isSending ? 1 : 0 })),
  }));
  for (const [index, candidate] of candidates.entries()) {
    if (index % 16 === 0) await checkpoint(control, index / candidates.length, 'changes of states');
    const changes = changesOf(candidate, knownOf(candidate), durationS);
    if (changes && changes.length > 0) tellers.push({ kind: 'field', candidate, changes });
  }
  return tellers;
}
