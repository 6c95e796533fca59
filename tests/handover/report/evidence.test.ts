/** Evidence in sentences: each kind with its figures, what a sentence has no place for named behind it, and entries that hold anything at all. */
import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/handover/report/context.ts';
import { plainOf } from '../../../src/handover/report/document.ts';
import { chanceWords } from '../../../src/handover/report/evidence-figures.ts';
import { evidenceWords, inOrder } from '../../../src/handover/report/evidence-words.ts';
import { checksumWords, counterWords, undeterminedWords } from '../../../src/handover/report/guard-words.ts';
import type { Evidence } from '../../../src/map/schema.ts';
import { aChecksum, aCounter } from '../../support/map-parts.ts';
import { pumpMap, status } from './maps.ts';

const context = contextOf({ map: pumpMap, cautions: [], leftOut: [] });
const say = (evidence: Evidence): string => plainOf(evidenceWords(evidence, context));
const shaft = {
  bus: 'can0',
  id: '0x1F4',
  extended: false,
  lsb: { byte: 1, bit: 0 },
  length: 16,
  order: 'big',
  when: null,
};

describe('a sentence for each kind', () => {
  const told: readonly (readonly [Evidence, string])[] = [
    [
      {
        kind: 'link',
        capture: 'c1',
        action: 'lever',
        direction: 'onset',
        effect: 900,
        effectSd: 12.5,
        lagS: -0.31,
        p: 1e-12,
        q: 3e-11,
        n: 14,
      },
      'answers “lever” (onset): moves by 900 raw, 12.5 robust standard deviations, 0.31 s before the mark, n 14, q 3\u00a0×\u00a010⁻¹¹ [quay]',
    ],
    [
      {
        kind: 'fit',
        quantity: 'speed',
        unit: 'km/h',
        scale: 0.0625,
        scaleSe: 0.002,
        offset: -1.5,
        offsetSe: 0.3,
        r2: 0.99874,
        n: 412,
        asGood: 2,
        lagS: 0.2,
      },
      'goes with speed in km/h: scale 0.0625 ± 0.002, offset −1.5 ± 0.3, r² 0.99874 over 412 readings; 2 other fields fit as well; lagS 0.2',
    ],
    [
      { kind: 'states', action: 'key', states: [{ raw: 1, value: 'on', seen: 4 }] },
      'states told by the marks of “key”: raw 1 at “on” (4 times)',
    ],
    [
      { kind: 'guard', frames: 500, passed: 499, heldOut: 100, heldOutPassed: 100, independent: 33 },
      'the rule holds in 499 of 500 frames, and in 100 of 100 that were kept apart; 33 independent changes of the payload speak for it',
    ],
    [
      { kind: 'proof', capture: 'c2', verdict: 'holds', n: 5120, held: ['place'] },
      'held against a recording that it was not made from: holds of 5,120 (place) [harbour]',
    ],
    [{ kind: 'bench', trials: 3, moved: false }, 'on the bench, 3 trials: nothing moved'],
    [{ kind: 'by-hand', passed: 9, checked: 10 }, 'placed or set by a person; it holds in 9 of 10 frames'],
    [
      { kind: 'cross-check', quantity: 'same-value', same: 'copy', of: shaft, lagMs: 38.3, n: 56, q: 0.0004 },
      'shows the same as pump_status.shaft_speed, 38 ms later, n 56, q 0.0004',
    ],
    [
      {
        kind: 'cross-check',
        quantity: 'role',
        follows: { ...shaft, lsb: { byte: 0, bit: 3 }, length: 2 },
        lagMs: -4,
        r2: 0.97,
        n: 3711,
        q: 0,
      },
      'follows can0 0x1F4 byte 0 bit 3, 2 bits, 4 ms earlier, r² 0.97, n 3,711, q below 10⁻⁹⁹',
    ],
    [
      {
        kind: 'cross-check',
        quantity: 'power-balance',
        part: 'power',
        members: 2,
        listed: [{ part: 'speed', ...shaft }],
        residual: 0.0092,
        n: 1360,
        q: 0.01,
        explained: 0.97,
      },
      'takes part as power in: a current goes with torque times speed, with pump_status.shaft_speed (speed); 0.92 % left open over 1,360 instants, q 0.01; explained 0.97',
    ],
  ];
  it.each(told.map(([evidence, words]) => [evidence.kind, evidence, words] as const))(
    '%s',
    (_kind, evidence, words) => {
      expect(say(evidence)).toBe(words);
    },
  );

  it('holds whatever an entry holds', () => {
    const kinds = ['link', 'fit', 'states', 'cross-check', 'guard', 'proof', 'bench', 'by-hand'] as const;
    const odd = {
      of: 7,
      listed: [null, 3],
      states: 'x',
      held: [null],
      follows: { lsb: null },
      same: 'copy',
      quantity: null,
      p: 'no',
      n: Number.NaN,
      extra: 'kept',
    };
    for (const kind of kinds) {
      expect(say({ kind })).not.toMatch(/undefined|NaN|\[object/);
      expect(say({ kind, ...odd } as unknown as Evidence)).toMatch(/kept/);
    }
  });

  it('in the order proof, bench, fit, states, links by strength, laws, guards, hand', () => {
    const all: Evidence[] = [
      { kind: 'by-hand' },
      { kind: 'link', effectSd: 1 },
      { kind: 'link', effectSd: -4 },
      { kind: 'fit' },
      { kind: 'proof' },
    ];
    expect(inOrder(all).map(({ kind, effectSd }) => [kind, effectSd])).toEqual([
      ['proof', undefined],
      ['fit', undefined],
      ['link', -4],
      ['link', 1],
      ['by-hand', undefined],
    ]);
  });
});

it('a chance is never rounded to nothing', () => {
  expect([0.05, 0.00012, 4.4e-5, 1e-120, 0, Number.NaN, 'x'].map(chanceWords)).toEqual([
    '0.05',
    '0.00012',
    '4\u00a0×\u00a010⁻⁵',
    'below 10⁻⁹⁹',
    'below 10⁻⁹⁹',
    '',
    '',
  ]);
});

describe('rules of guards', () => {
  it('with all parameters: enough to write them anew', () => {
    const [crc] = status.checksums;
    if (!crc) throw new Error('the frame has a checksum');
    expect(plainOf(checksumWords(crc))).toBe(
      'cyclic redundancy check: width 8, poly 0x1D, init 0xFF, xorout 0xFF; over bytes 0 to 6, behind them 0xF4',
    );
    expect(undeterminedWords(crc)).toBe('b3.0–2, b6.7');
    const masked = aChecksum({
      lsb: { byte: 7, bit: 0 },
      length: 4,
      method: 'sum',
      width: 4,
      unit: 'nibble',
      carry: 'end-around',
      covers: [0, { byte: 3, mask: '0x0F' }, 5, 6],
      prefixByCounter: [['0x01'], ['0x02']],
    });
    expect(plainOf(checksumWords(masked))).toBe(
      'sum: width 4, over nibbles, carry end-around; over bytes 0, 3 (mask 0x0F), 5 to 6, before them by the counter 0x01 | 0x02',
    );
    expect(plainOf(checksumWords({ ...masked, method: 'mac' }))).toMatch(/secret/);
  });

  it('counters that step down, and not at every frame', () => {
    expect(counterWords(aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, max: 14, step: -1, every: 2 }))).toBe(
      'counts 0 to 14, down by 1 once in 2 frames',
    );
  });
});
