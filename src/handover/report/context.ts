/** What every section asks of the map: names for places and captures, anchors for frames; and what may be known beside the map. */
import { bitPositions, type Placement } from '../../frames/bits.ts';
import { displayId } from '../../kit/units.ts';
import { frameKey, idNumber } from '../../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../map/schema.ts';
import type { BenchRecord } from '../bench/record-schema.ts';
import type { LeftOut } from '../encode-choice.ts';
import type { KeepAlivePlan } from '../needs/types.ts';
import { describePlace } from './describe.ts';
import { inferred, mono, type Words } from './document.ts';
import type { ReportTraces } from './traces.ts';

/** A map held against one recording: as `prove` answers. */
export interface ReportProof {
  /** What it was held against, for a person. */
  readonly title: string;
  readonly frames: readonly {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    readonly verdict: 'holds' | 'fails' | 'not-exercised';
    readonly items: readonly {
      readonly item: string;
      readonly name: string;
      readonly verdict: 'holds' | 'fails' | 'not-exercised';
      readonly rate: number | null;
      readonly n: number;
      readonly detail: string;
    }[];
  }[];
}

/** Known beside the map; each section says in words what would fill it where its part is not there. */
export interface ReportExtras {
  readonly traces?: ReportTraces | null;
  readonly plan?: KeepAlivePlan | null;
  readonly bench?: BenchRecord | null;
  readonly proofs?: readonly ReportProof[];
}

export interface ReportInput {
  readonly map: SignalMap;
  readonly cautions: readonly string[];
  readonly leftOut: readonly LeftOut[];
  readonly extras?: ReportExtras;
}

export interface Context {
  readonly map: SignalMap;
  readonly extras: ReportExtras;
  readonly leftOut: readonly LeftOut[];
  /** Unique in the report. */
  readonly anchorOf: (frame: FrameKey) => string;
  /** "inverter_status.speed" where the map has a signal there, else where it lies. Of anything: evidence may hold what it likes. */
  readonly placeName: (place: unknown) => Words;
  /** Its title, or the id itself. */
  readonly captureName: (id: unknown) => string;
}

export interface FrameKey {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export const shownId = ({ id, extended }: Pick<FrameKey, 'id' | 'extended'>): string =>
  displayId(idNumber(id), extended);

const bitsKey = (frame: FrameKey, placement: Placement): string =>
  `${frameKey(frame)} ${bitPositions(placement).join()}`;

function isPlace(value: unknown): value is FrameKey & Placement {
  const { bus, id, extended, lsb, length, order } = (value ?? {}) as Partial<Record<string, unknown>>;
  const { byte, bit } = (lsb ?? {}) as Partial<Record<string, unknown>>;
  const isNamed = typeof bus === 'string' && typeof id === 'string' && typeof extended === 'boolean';
  const isLaid = typeof byte === 'number' && typeof bit === 'number' && typeof length === 'number' && length <= 512;
  return isNamed && isLaid && (order === 'little' || order === 'big');
}

function placeNames({ frames }: SignalMap): (place: unknown) => Words {
  const names = new Map<string, string>();
  for (const frame of frames)
    for (const signal of frame.signals) {
      const key = bitsKey(frame, signal);
      if (!names.has(key)) names.set(key, `${frame.name}.${signal.name}`);
    }
  return (place) => {
    if (!isPlace(place)) return 'another field';
    const name = names.get(bitsKey(place, place));
    if (name) return [mono(name)];
    return [mono(`${place.bus} ${shownId(place)}`), ` ${describePlace(place)}`];
  };
}

export function contextOf({ map, leftOut, extras = {} }: ReportInput): Context {
  const anchors = new Map(map.frames.map((frame, index) => [frameKey(frame), `frame-${index + 1}`]));
  const titles = new Map(map.captures.map(({ id, title }) => [id, title || id]));
  return {
    map,
    extras,
    leftOut,
    anchorOf: (frame) => anchors.get(frameKey(frame)) ?? 'frames',
    placeName: placeNames(map),
    captureName: (id) => (typeof id === 'string' ? (titles.get(id) ?? id) : ''),
  };
}

/** The name of a sender as the map has it; in italics where nobody gave one. */
export function senderWords({ sender }: Pick<MapFrame, 'sender'>): Words {
  if (!sender) return [inferred('not known')];
  return sender.name || [inferred(`sender ${sender.group}`)];
}
