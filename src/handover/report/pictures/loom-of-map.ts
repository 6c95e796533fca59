/** The loom of a map: buses, senders and identifiers as it has them. What only a capture tells (skew, copies, load) stays out. */
import type { MapFrame, SignalMap } from '../../../map/schema.ts';
import { loomOf, type GivenName, type Loom } from '../../../timing/loom/model.ts';
import type { SurveyFrame, SurveyGroup } from '../../../timing/types.ts';

function frameOf(frame: MapFrame): SurveyFrame {
  const { bus, id, extended, length, fd, timing, sender } = frame;
  return {
    bus,
    id,
    extended,
    direction: 'received',
    count: 0,
    length,
    lengths: [],
    fd,
    timing,
    timingWhy: '',
    missed: null,
    medianIntervalMs: timing.periodMs,
    firstS: 0,
    lastS: 0,
    gaps: [],
    group: sender?.group ?? null,
    groupConfidence: sender?.confidence ?? null,
    groupWhy: '',
    skew: null,
    copyOf: null,
    network: null,
    distinctPayloads: 0,
  };
}

function groupsOf(frames: readonly MapFrame[]): SurveyGroup[] {
  const letters = [...new Set(frames.flatMap(({ sender }) => (sender ? [sender.group] : [])))];
  return letters.map((group) => {
    const name = frames.find(({ sender }) => sender?.group === group && sender.name)?.sender?.name;
    return { group, ...(name ? { name } : {}), ids: [], skewPpm: null, members: [], why: '' };
  });
}

/** Buses that only frames name come after those that the map lists. */
function busesOf({ buses, frames }: SignalMap): { name: string; bitrate: number | null; dataBitrate: number | null }[] {
  const listed = new Set(buses.map(({ name }) => name));
  const others = [...new Set(frames.map(({ bus }) => bus))].filter((name) => !listed.has(name));
  return [...buses, ...others.map((name) => ({ name, bitrate: null, dataBitrate: null }))];
}

export function loomOfMap(map: SignalMap): Loom {
  const names = new Map<string, GivenName>();
  const keyOf = (bus: string, id: string, extended: boolean): string => `${bus} ${id} ${extended}`;
  for (const { bus, id, extended, name } of map.frames) names.set(keyOf(bus, id, extended), { name, named: true });
  const source = {
    capture: { durationS: 1 },
    buses: busesOf(map).map((bus) => ({ ...bus, load: null })),
    frames: map.frames.map(frameOf),
    groups: groupsOf(map.frames),
  };
  return loomOf(source, ({ bus, id, extended }) => names.get(keyOf(bus, id, extended)) ?? { name: '', named: false });
}
