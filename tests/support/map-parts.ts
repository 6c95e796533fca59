/** Small makers of map parts for tests: everything not given is plain and harmless. */
import type { MapChecksum, MapCounter, MapFrame, MapSelector, MapSignal, SignalMap } from '../../src/map/schema.ts';

export function aSignal(part: Partial<MapSignal> & Pick<MapSignal, 'lsb' | 'length'>): MapSignal {
  return {
    name: `s_${part.lsb.byte}_${part.lsb.bit}`,
    order: 'little',
    coding: 'unsigned',
    kind: 'number',
    role: 'unknown',
    when: null,
    scale: 1,
    offset: 0,
    unit: '',
    observed: null,
    allowed: null,
    invalid: [],
    states: {},
    table: null,
    standing: 'guess',
    sending: 'untested',
    confidence: 0.5,
    evidence: [],
    notes: '',
    ...part,
  };
}

export function aCounter(part: Partial<MapCounter> & Pick<MapCounter, 'lsb' | 'length'>): MapCounter {
  return {
    name: 'alive',
    order: 'little',
    step: 1,
    every: 1,
    min: 0,
    max: 2 ** part.length - 1,
    when: null,
    confidence: 1,
    ...part,
  };
}

export function aChecksum(part: Partial<MapChecksum> & Pick<MapChecksum, 'lsb' | 'length' | 'method'>): MapChecksum {
  return { order: 'little', when: null, undetermined: [], confidence: 1, ...part };
}

export function aSelector(part: Partial<MapSelector> & Pick<MapSelector, 'lsb' | 'length'>): MapSelector {
  return { name: 'page', order: 'little', confidence: 1, ...part };
}

export function aFrame(part: Partial<MapFrame> = {}): MapFrame {
  const length = part.length ?? 8;
  return {
    bus: 'can0',
    id: '0x123',
    extended: false,
    length,
    fd: length > 8,
    name: 'frame_123',
    role: 'unknown',
    sender: null,
    timing: { kind: 'periodic', periodMs: 10, jitterMs: 0.1 },
    rest: { payload: Array.from({ length }, () => '00').join(' '), capture: 'c1', fromS: 0, toS: 1 },
    need: { verdict: 'untested', how: '' },
    counters: [],
    checksums: [],
    selectors: [],
    signals: [],
    unclaimed: [],
    ...part,
  };
}

export function aMap(frames: MapFrame[], part: Partial<SignalMap> = {}): SignalMap {
  return {
    format: 'loomscribe.signal-map',
    version: 1,
    requires: [],
    part: { title: 'Pump inverter of a harbour tender', donor: '', notes: '' },
    made: { by: 'loomscribe 0.1.0', at: '2026-01-01T00:00:00Z' },
    captures: [{ id: 'c1', title: 'first', files: [{ name: 'a.log', bytes: 1, sha256: '' }] }],
    buses: [{ name: 'can0', bitrate: 500000, dataBitrate: null }],
    frames,
    sequences: [],
    ...part,
  };
}
