/** What was found of a signal's meaning goes into its map entry with figures, and only into its own. Everything here is made by hand. */
import { describe, expect, it } from 'vitest';
import { meantByHand, meantSignal } from '../../src/draft/meant.ts';
import type { MeaningReport } from '../../src/draft/meaning.ts';
import { blankSignal } from '../../src/map/blank-signal.ts';
import { signalSchema, type MapSignal } from '../../src/map/schema.ts';

const place = (id: string, byte: number) => ({
  bus: 'can0',
  id,
  extended: false,
  field: `f${byte}`,
  lsb: { byte, bit: 0 },
  length: 8,
  order: 'little' as const,
  when: null,
});
const [command, answer, lamp] = [place('0x10', 0), place('0x20', 1), place('0x30', 2)];
const follow = {
  leader: command,
  follower: answer,
  lagMs: 40,
  lagMsInterval: [35, 45] as const,
  tellingMs: 10,
  constantMs: 25,
  constantMsInterval: [25, 50] as const,
  gain: 2.1,
  scale: 1,
  r2: 0.99,
  n: 900,
  p: 1e-9,
  q: 1e-7,
  way: 'answer' as const,
};
const meaning = {
  roles: {
    roles: [
      {
        ...command,
        role: 'command',
        confidence: 0.9,
        reasons: [{ kind: 'leads', with: answer, figures: {} }],
        why: '',
      },
      { ...answer, role: 'unknown', confidence: 0, reasons: [], why: '' },
      {
        ...lamp,
        role: 'fault',
        confidence: 0.8,
        reasons: [{ kind: 'warns', with: answer, figures: { trouble: 'no data', times: 3, q: 0.001 } }],
        why: '',
      },
    ],
    follows: [follow, { ...follow, leader: answer, follower: command, way: 'untold' as const }],
    pairs: 1,
  },
  checks: {
    checks: [
      {
        check: 'constant-ratio',
        members: [
          { part: 'speed', place: command },
          { part: 'speed', place: answer },
        ],
        residual: 0.001,
        n: 500,
        p: 1e-8,
        q: 1e-7,
        figures: { ratio: 3.7 },
        why: '',
      },
    ],
    tried: 1,
  },
} as unknown as MeaningReport;

const KEY = { bus: 'can0', id: '0x10', extended: false };
const more = { coding: 'unsigned' as const, kind: 'number' as const, confidence: 0.9 };
const signal: MapSignal = { ...blankSignal(command, 'mine'), ...more };

describe('meantSignal', () => {
  it('puts in the role, its confidence and the ties that tell it, with figures', () => {
    const meant = meantSignal(signal, KEY, meaning, 'c1');
    expect(meant).toMatchObject({ role: 'command', roleConfidence: 0.9 });
    const ties = meant.evidence.filter(({ quantity }) => quantity === 'role');
    expect(ties).toHaveLength(1);
    expect(ties[0]).toMatchObject({ kind: 'cross-check', capture: 'c1', lagMs: 40, lagMsInterval: [35, 45], n: 900 });
    expect(ties[0]?.['leads']).toMatchObject({ id: '0x20' });
    expect(signalSchema.safeParse(meant).success).toBe(true);
  });

  it('puts in the laws with the other members and what is left open', () => {
    const law = meantSignal(signal, KEY, meaning, 'c1').evidence.find(({ quantity }) => quantity === 'constant-ratio');
    expect(law).toMatchObject({ part: 'speed', residual: 0.001, n: 500, ratio: 3.7, members: 2 });
    expect(law?.['listed']).toMatchObject([{ id: '0x20' }]);
  });

  it('leaves a role alone where none is told, and everything where nothing was asked', () => {
    const other: MapSignal = { ...blankSignal(answer, 'other'), ...more };
    expect(meantSignal(other, { ...KEY, id: '0x20' }, meaning, 'c1').role).toBe('unknown');
    expect(meantSignal(signal, { ...KEY, id: '0x30' }, meaning, 'c1').evidence).toEqual([]);
    expect(meantSignal(signal, KEY, null, 'c1')).toBe(signal);
  });

  it('says what a fault stands for, with figures', () => {
    const mine: MapSignal = { ...blankSignal(lamp, 'lamp'), ...more, kind: 'flag' };
    const meant = meantSignal(mine, { ...KEY, id: '0x30' }, meaning, 'c1');
    expect(meant).toMatchObject({ role: 'fault' });
    expect(meant.evidence).toMatchObject([
      { kind: 'cross-check', quantity: 'role', told: 'warns', warns: { id: '0x20' }, trouble: 'no data', times: 3 },
    ]);
    expect(signalSchema.safeParse(meant).success).toBe(true);
  });
});

describe('meantByHand', () => {
  const named: MapSignal = { ...signal, name: 'wish', evidence: [{ kind: 'by-hand' }] };

  it('gives a signal that a person named a role and its evidence, once', () => {
    const meant = meantByHand(named, KEY, meaning, 'c1');
    expect(meant).toMatchObject({ name: 'wish', role: 'command', roleConfidence: 0.9 });
    expect(meant.evidence.map(({ quantity }) => quantity)).toEqual([undefined, 'constant-ratio', 'role']);
    expect(meantByHand(meant, KEY, meaning, 'c1').evidence).toEqual(meant.evidence);
  });

  it('leaves the role that the person gave, with the evidence beside it', () => {
    const meant = meantByHand({ ...named, role: 'limit' }, KEY, meaning, 'c1');
    expect(meant.role).toBe('limit');
    expect(meant.evidence.some(({ quantity }) => quantity === 'role')).toBe(true);
    expect(meantByHand(named, KEY, null, 'c1')).toBe(named);
  });
});
