/** A bench record with one measurement and one trial that a person saw. */
import { benchRecordSchema, type BenchRecord } from '../../../src/handover/bench/record-schema.ts';

export const seenRecord: BenchRecord = benchRecordSchema.parse({
  format: 'loomscribe.bench',
  version: 1,
  part: 'Pump inverter',
  candidates: [],
  heldBack: [],
  released: [],
  settings: { sleepS: 30, settleS: 10 },
  vehicle: null,
  checklist: [
    {
      item: 'supply',
      verdict: 'ok',
      value: 13.8,
      unit: 'V',
      note: 'at the plug',
      by: 'A. Helm',
      at: '2026-02-03T10:00:00Z',
    },
  ],
  trials: [
    {
      number: 1,
      kind: 'set',
      aim: 'all of them',
      sent: ['can0/0x2A0'],
      sleepS: 30,
      settleS: 10,
      at: '2026-02-03T10:10:00Z',
      capture: null,
      observed: null,
      seen: { verdict: 'operational', note: 'fan runs' },
      moved: false,
    },
  ],
});
