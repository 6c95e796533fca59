/** Maps for tests of the report: an invented pump inverter with everything in it that the report has a word for, and a large one. */
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { columnsFor, type ReportTraces } from '../../../src/handover/report/traces.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';

export const status: MapFrame = aFrame({
  id: '0x1F4',
  name: 'pump_status',
  role: 'sent-by-part',
  sender: { group: 'A', name: 'pump inverter', confidence: 0.97 },
  signals: [
    aSignal({
      name: 'shaft_speed',
      lsb: { byte: 1, bit: 0 },
      length: 16,
      order: 'big',
      coding: 'signed',
      unit: 'rpm',
      scale: 0.5,
      standing: 'supported',
      observed: { min: -120, max: 4800 },
      mayExtend: { above: 0, below: 3 },
      evidence: [
        {
          kind: 'fit',
          capture: 'c1',
          quantity: 'tachometer',
          unit: 'rpm',
          scale: 0.5,
          scaleSe: 0.002,
          offset: 0,
          offsetSe: 3,
          r2: 0.9991,
          n: 412,
        },
        {
          kind: 'link',
          capture: 'c1',
          action: 'lever forward',
          direction: 'onset',
          effect: 900,
          effectSd: 12.5,
          lagS: 0.31,
          p: 1e-12,
          q: 3e-11,
          n: 14,
        },
        { kind: 'proof', capture: 'c2', verdict: 'holds', n: 5120, held: ['place', 'values'] },
      ],
    }),
    aSignal({
      name: 'state',
      kind: 'states',
      role: 'state',
      lsb: { byte: 2, bit: 0 },
      length: 3,
      states: { '0': 'off', '1': 'waking', '4': 'ready' },
      observed: { min: 0, max: 4 },
      evidence: [{ kind: 'by-hand' }],
    }),
    aSignal({ name: 'total', lsb: { byte: 4, bit: 4 }, length: 12, order: 'little', disputed: [{ by: 'other' }] }),
  ],
  counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4, max: 14 })],
  checksums: [
    aChecksum({
      lsb: { byte: 7, bit: 0 },
      length: 8,
      method: 'crc',
      width: 8,
      poly: '0x1D',
      init: '0xFF',
      xorout: '0xFF',
      covers: [0, 1, 2, 3, 4, 5, 6],
      suffix: ['0xF4'],
      undetermined: [
        { byte: 3, bit: 0 },
        { byte: 3, bit: 1 },
        { byte: 3, bit: 2 },
        { byte: 6, bit: 7 },
      ],
    }),
  ],
  unclaimed: [
    { lsb: { byte: 2, bit: 3 }, length: 5, order: 'little', reason: 'idle', value: 0 },
    { lsb: { byte: 3, bit: 0 }, length: 8, order: 'little', reason: 'constant', value: 0x3c },
  ],
});

/** Four pages that are cut alike, one that is cut otherwise, and pages of a page. */
export const cells: MapFrame = aFrame({
  id: '0x18FF0A21',
  extended: true,
  name: 'cells',
  role: 'other',
  sender: { group: 'B', name: '', confidence: 0.8 },
  timing: {
    kind: 'mixed',
    periodMs: 100,
    jitterMs: 0.2,
    byMode: {
      on: { kind: 'mixed', periodMs: 100, jitterMs: 0.2 },
      asleep: { kind: 'periodic', periodMs: 1000, jitterMs: 0.2 },
    },
  },
  selectors: [aSelector({ name: 'page', lsb: { byte: 0, bit: 0 }, length: 3 })],
  signals: [
    ...[0, 1, 2, 3].map((page) =>
      aSignal({
        name: `cell_${page}`,
        lsb: { byte: 1, bit: 0 },
        length: 12,
        order: 'little',
        when: { page: [page] },
        unit: 'V',
        scale: 0.001,
      }),
    ),
    aSignal({ name: 'coldest', lsb: { byte: 1, bit: 0 }, length: 8, when: { page: [6] }, unit: 'degC', offset: -40 }),
  ],
});

export const demand: MapFrame = aFrame({
  id: '0x2A0',
  name: 'speed_demand',
  role: 'needed-by-part',
  sender: { group: 'C', name: 'helm', confidence: 0.99 },
  need: { verdict: 'required', how: 'bench' },
  signals: [
    aSignal({
      name: 'wanted',
      role: 'command',
      lsb: { byte: 0, bit: 0 },
      length: 8,
      unit: 'Nm',
      observed: { min: 0, max: 80 },
    }),
  ],
  checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'unsolved' })],
  unclaimed: [{ lsb: { byte: 2, bit: 0 }, length: 16, order: 'little', reason: 'cipher' }],
});

export const pumpMap: SignalMap = aMap([status, cells, demand], {
  part: { title: 'Pump inverter of a harbour tender', donor: 'Tender, written off', notes: 'Brown plug, 12 V.' },
  captures: [
    { id: 'c1', title: 'quay', files: [{ name: 'quay.log', bytes: 123456, sha256: 'ab'.repeat(32) }] },
    { id: 'c2', title: 'harbour', files: [{ name: 'harbour.log', bytes: 99, sha256: '' }] },
  ],
  sequences: [
    {
      name: 'key on',
      event: 'key turned',
      n: 6,
      steps: [
        { bus: 'can0', id: '0x1F4', signal: 'state', from: 0, to: 1, group: 'A', delayMs: [40, 60], seen: 6 },
        { bus: 'can0', id: '0x1F4', signal: 'state', from: 1, to: 4, group: 'A', delayMs: [300, 420], seen: 5 },
      ],
      presence: [{ bus: 'can0', id: '0x2A0', what: 'begins', group: 'C', delayMs: [10, 20], seen: 6 }],
    },
  ],
});

/** 60 frames of 20 signals, FD, each signal with a fit and a link. */
export const largeMap = (): SignalMap =>
  aMap(
    Array.from({ length: 60 }, (_, f) =>
      aFrame({
        id: `0x${(0x100 + f).toString(16).toUpperCase()}`,
        name: `frame_number_${f}`,
        length: 64,
        fd: true,
        sender: { group: 'ABCDEF'[f % 6] ?? 'A', name: '', confidence: 0.9 },
        counters: [aCounter({ lsb: { byte: 60, bit: 0 }, length: 4 })],
        checksums: [
          aChecksum({ lsb: { byte: 61, bit: 0 }, length: 8, method: 'crc', width: 8, poly: '0x1D', covers: [0, 1, 2] }),
        ],
        signals: Array.from({ length: 20 }, (_, s) =>
          aSignal({
            name: `signal_number_${s}`,
            lsb: { byte: 3 * s, bit: 0 },
            length: 16,
            unit: 'km/h',
            observed: { min: 0, max: 1000 },
            evidence: [
              {
                kind: 'link',
                capture: 'c1',
                action: 'lever forward',
                direction: 'onset',
                effect: 12.5,
                effectSd: 8.1,
                lagS: 0.1,
                n: 18,
                p: 1e-9,
                q: 1e-8,
              },
              {
                kind: 'fit',
                capture: 'c1',
                quantity: 'speed',
                unit: 'km/h',
                scale: 0.1,
                scaleSe: 0.001,
                offset: 0,
                offsetSe: 0.1,
                r2: 0.999,
                n: 400,
              },
            ],
          }),
        ),
      }),
    ),
  );

/** A restless trace for each signal. */
export function tracesFor({ frames }: SignalMap): ReportTraces {
  const columns = columnsFor(frames.reduce((sum, { signals }) => sum + signals.length, 0));
  const traceOf = (signal: number) => {
    const low = Float32Array.from(
      { length: columns },
      (_, k) => 500 + 400 * Math.sin(k / 7 + signal) + 20 * Math.sin(k * 13),
    );
    return { signal, low, high: low.map((value, k) => value + 30 + 20 * Math.cos(k * 7)), least: 0, greatest: 1000 };
  };
  return {
    title: 'quay',
    window: { fromS: 0, toS: 400, columns },
    frames: frames.map(({ bus, id, extended, signals }) => ({
      bus,
      id,
      extended,
      signals: signals.map((_, index) => traceOf(index)),
    })),
  };
}
