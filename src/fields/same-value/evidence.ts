/** A field's part in the groups that show the same quantity, as the map keeps it: figures, and which other field it is about. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import type { MapSignal, When } from '../../map/schema.ts';
import type { FieldPlace, SameValueGroup, SameValueMember, SameValueReport } from './types.ts';

const QUANTITY = 'same-value';
type Evidence = MapSignal['evidence'][number];

interface FrameKey {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

/** The field asked about, in one group: the source itself, or one that shows what the source shows. */
export interface SameValuePart {
  readonly group: SameValueGroup;
  /** null: it is the source. */
  readonly member: SameValueMember | null;
}

const bitsKey = (field: Placement & { readonly when: When }): string =>
  `${bitPositions(field).join()} ${JSON.stringify(field.when ?? null)}`;

const isPlace = (place: FieldPlace, frame: FrameKey, key: string): boolean =>
  place.bus === frame.bus && place.id === frame.id && place.extended === frame.extended && bitsKey(place) === key;

export function partIn(
  report: SameValueReport | null,
  frame: FrameKey,
  field: Placement & { readonly when: When },
): SameValuePart | null {
  const key = bitsKey(field);
  for (const group of report?.groups ?? []) {
    if (isPlace(group.source, frame, key)) return { group, member: null };
    const member = group.members.find(({ place }) => isPlace(place, frame, key));
    if (member) return { group, member };
  }
  return null;
}

const figures = ({ line, values, lagMs, lagMsSe, follows, n, p, q }: SameValueMember) => ({
  ...(line ?? {}),
  ...(values ? { values: values.map(([from, to]) => [from, to]) } : {}),
  lagMs,
  lagMsSe,
  follows,
  n,
  p,
  q,
});

/** A place as evidence in the map tells it. */
export const plainPlace = ({ bus, id, extended, lsb, length, order, continues, when }: FieldPlace) => ({
  bus,
  id,
  extended,
  lsb: { byte: lsb.byte, bit: lsb.bit },
  length,
  order,
  ...(continues ? { continues } : {}),
  when,
});

/** A signal's evidence with this capture's word on same values in place of an older one. */
export function withSameValue(
  signal: MapSignal,
  frame: FrameKey,
  report: SameValueReport | null,
  capture: string,
): MapSignal {
  const part = partIn(report, frame, signal);
  const isOld = (one: Evidence): boolean =>
    one.kind === 'cross-check' && one['quantity'] === QUANTITY && one.capture === capture;
  const kept = report ? signal.evidence.filter((one) => !isOld(one)) : signal.evidence;
  return { ...signal, evidence: part ? [...kept, sameValueEvidence(part, capture)] : kept };
}

/** Others than these are not listed with a source: they each name it. */
const COPIES_LISTED = 8;

/**
 * `same: "copy"`: own raw value = scale x `of` + offset, lagMs later; `same: "source"`: the first of so many, the nearest listed. Raw values are
 * those after the coding.
 */
export function sameValueEvidence({ group, member }: SameValuePart, capture: string): Evidence {
  const shared = { kind: 'cross-check' as const, capture, quantity: QUANTITY };
  if (member) return { ...shared, same: 'copy', of: plainPlace(group.source), ...figures(member) };
  const copies = group.members.map(({ place }) => plainPlace(place));
  const n = Math.max(...group.members.map((each) => each.n));
  return { ...shared, same: 'source', copies: copies.length, listed: copies.slice(0, COPIES_LISTED), n };
}
