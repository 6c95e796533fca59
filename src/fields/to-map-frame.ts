/**
 * Findings of one identifier as a frame of the signal map, without a meaning yet: role unknown, no sender, need untested.
 */
import type { MapFrame, MapTiming } from '../map/schema.ts';
import type { FrameFindings } from './types.ts';

/** A frame's name until a person gives one: "can0_1F4", with x after extended identifiers. */
function frameName(findings: Pick<FrameFindings, 'bus' | 'id' | 'extended'>): string {
  const bus = findings.bus.replace(/[^A-Za-z0-9]+/g, '_');
  return `${bus}_${findings.id.slice(2)}${findings.extended ? 'x' : ''}`;
}

export function toMapFrame(findings: FrameFindings, timing: MapTiming): MapFrame {
  const { bus, id, extended, length, fd } = findings;
  return {
    bus,
    id,
    extended,
    length,
    fd,
    name: frameName(findings),
    role: 'unknown',
    sender: null,
    timing,
    rest: null,
    need: { verdict: 'untested', how: '' },
    counters: [...findings.counters],
    checksums: [...findings.checksums],
    selectors: [...findings.selectors],
    signals: [...findings.fields],
    unclaimed: [...findings.unclaimed],
  };
}
