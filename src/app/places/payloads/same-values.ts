/** The fields that show the same value as the one held: what is said of each, where it stands, and how its trace is laid over. */
import { useMemo } from 'react';
import { partIn, sameValueEvidence } from '../../../fields/same-value/evidence.ts';
import type { FieldPlace, SameValueMember } from '../../../fields/same-value/types.ts';
import { sameValueWords } from '../../../fields/same-value/words.ts';
import type { FrameFindings } from '../../../fields/types.ts';
import type { Placement } from '../../../frames/bits.ts';
import type { StreamKey } from '../../../frames/table.ts';
import type { TraceRequest } from '../../../jobs/engine-types.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { placementKey } from '../../pictures/bands-words.ts';
import { useSameValues } from '../../stores/asking.ts';
import { useView } from '../../stores/view.ts';
import { findingsFor, holdStream, type Held } from './held.ts';
import { usePayloads } from './store.ts';
import { traceRequestOf } from './trace-request.ts';

export interface Companion {
  readonly key: string;
  /** "0x1F4 b2_3" */
  readonly name: string;
  /** What is said of it. */
  readonly words: string;
  readonly place: FieldPlace;
  readonly stream: StreamKey;
  /** Its trace in the unit of the field held; null where nothing leads from one to the other. */
  readonly request: TraceRequest | null;
}

/** A source may have many copies: so many are listed. */
const LISTED = 6;

const streamOf = ({ bus, id, extended }: FieldPlace): StreamKey => ({
  bus,
  id: Number(id),
  extended,
  direction: 'received',
});

const nameOf = (place: FieldPlace, bus: string): string =>
  `${place.bus === bus ? '' : `${place.bus} `}${place.id} ${placeWords(place as Placement)}`;

/** From the companion's raw value to the held one's, as scale and offset or by a table. */
type Bridge = Pick<MapSignal, 'scale' | 'offset' | 'table'>;

function bridgeOf({ line, values }: SameValueMember, backwards: boolean): Bridge | null {
  if (line) {
    const { scale, offset } = line;
    return backwards ? { scale: 1 / scale, offset: -offset / scale, table: null } : { scale, offset, table: null };
  }
  if (!values) return null;
  const pairs = values.map(([from, to]): [number, number] => (backwards ? [to, from] : [from, to]));
  return { scale: 1, offset: 0, table: pairs.sort((a, b) => a[0] - b[0]) };
}

/** As the held field's own scale shows it. */
function inUnitOf({ scale, offset }: MapSignal, bridge: Bridge): Bridge {
  const shown = (raw: number): number => raw * scale + offset;
  if (bridge.table) return { scale: 1, offset: 0, table: bridge.table.map(([from, to]) => [from, shown(to)]) };
  return { scale: bridge.scale * scale, offset: shown(bridge.offset), table: null };
}

function companionOf(
  held: Held,
  place: FieldPlace,
  words: string,
  bridge: Bridge | null,
  fields: readonly FrameFindings[] | null,
): Companion {
  const stream = streamOf(place);
  const findings = findingsFor(fields, stream);
  const found = findings?.fields.find((field) => field.name === place.field);
  const value = held.value as MapSignal;
  const request =
    found && bridge && !value.table ? traceRequestOf(stream, { ...found, ...inUnitOf(value, bridge) }, findings) : null;
  const key = `${place.bus} ${place.id} ${placementKey(place as Placement, place.when)}`;
  return { key, name: nameOf(place, held.frame?.bus ?? ''), words, place, stream, request };
}

function companionsOf(held: Held, report: Parameters<typeof partIn>[0]): readonly Companion[] {
  const { frame, value, fields } = held;
  if (!frame || !value || held.tried) return [];
  const part = partIn(report, frame, value);
  if (!part) return [];
  const { group, member } = part;
  if (member) {
    const words = sameValueWords(sameValueEvidence(part, ''), frame.bus) ?? '';
    return [companionOf(held, group.source, words, bridgeOf(member, false), fields.value)];
  }
  return group.members.slice(0, LISTED).map((one) => {
    const words = sameValueWords(sameValueEvidence({ group, member: one }, ''), one.place.bus) ?? '';
    return companionOf(held, one.place, words, bridgeOf(one, true), fields.value);
  });
}

export interface SameValueShown {
  /** The held field is one that the others follow. */
  readonly isSource: boolean;
  readonly companions: readonly Companion[];
  readonly unlisted: number;
  readonly busy: boolean;
}

export function useSameValuesOf(held: Held): SameValueShown {
  const same = useSameValues();
  const { frame, value } = held;
  return useMemo(() => {
    const companions = companionsOf(held, same.value);
    const part = frame && value && !held.tried ? partIn(same.value, frame, value) : null;
    const isSource = part !== null && part.member === null;
    const unlisted = isSource ? part.group.members.length - companions.length : 0;
    return { isSource, companions, unlisted, busy: same.slot?.state === 'running' };
  }, [held, same.value, same.slot?.state, frame, value]);
}

/** Holds the other field where it stands. */
export function goTo({ stream, place }: Companion): void {
  holdStream(stream);
  const { lsb, length, order, continues } = place;
  const placement = { lsb, length, order, ...(continues ? { continues } : {}) };
  useView.getState().select({ placement });
}

/** Lays its trace over that of the field held, or takes it off. */
export function toggleOverlay({ key }: Companion): void {
  const { overlaid, set } = usePayloads.getState();
  set({ overlaid: overlaid === key ? null : key });
}

/** The companion that is laid over the field held, where it is one of those shown. */
export function useOverlay(held: Held): Companion | null {
  const { companions } = useSameValuesOf(held);
  const overlaid = usePayloads((state) => state.overlaid);
  return companions.find(({ key }) => key === overlaid) ?? null;
}
