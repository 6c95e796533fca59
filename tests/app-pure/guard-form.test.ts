/** A rule as it is typed: what becomes of it, and what is said of what is wrong. */
import { describe, expect, it } from 'vitest';
import {
  checksumForm,
  checksumRule,
  counterForm,
  counterRule,
  freeChecksum,
  freeCounter,
} from '../../src/app/places/payloads/guard-form.ts';
import { stillWords } from '../../src/app/places/payloads/guard-words.ts';
import { compileChecksum } from '../../src/map/checksum.ts';
import { aChecksum } from '../support/map-parts.ts';

const found = aChecksum({
  lsb: { byte: 7, bit: 0 },
  length: 8,
  method: 'crc',
  width: 8,
  poly: '0x1D',
  init: '0x0',
  xorout: '0x0',
  prefix: ['0x23', '0x1'],
  covers: [{ byte: 1, mask: '0x0F' }, 2, 0, 3],
});

describe('a checksum as typed', () => {
  it('left alone is the rule found: the value of each payload is the same', () => {
    const { rule } = checksumRule(checksumForm(found));
    const payload = Uint8Array.of(1, 0xf2, 3, 4, 5, 6, 7, 0);
    const valueOf = (of: typeof found) => compileChecksum(of, { counters: [] })?.(payload, 0, 8);
    expect(rule && valueOf(rule)).toBe(valueOf(found));
    expect(rule?.covers).toEqual(found.covers);
    expect(rule?.prefix).toEqual(['0x23', '0x1']);
  });

  it('a byte taken out and put back comes back with its mask and to its place in the order', () => {
    const form = checksumForm(found);
    const without = checksumRule({ ...form, covers: [0, 2, 3] });
    expect(without.rule?.covers).toEqual([2, 0, 3]);
    expect(checksumRule({ ...form, covers: [0, 1, 2, 3] }).rule?.covers).toEqual(found.covers);
    expect(checksumRule({ ...form, covers: [0, 1, 2, 3, 6] }).rule?.covers).toEqual([...(found.covers ?? []), 6]);
  });

  it.each([
    ['poly', '0x11D', 'Leave out its top bit: write 0x1D.'],
    ['poly', '0', 'A polynomial of 0 checks nothing: write another.'],
    ['poly', 'zz', 'Not a hex number: write it like 0x1D.'],
    ['init', '1FF', 'Wider than 8 bits: at most 0xFF.'],
    ['xorout', '', 'Not a hex number: write it like 0x1D.'],
    ['before', 'F', 'Not whole bytes: write two hex digits each, like F4 01.'],
  ])('%s "%s": %s', (row, typed, says) => {
    expect(checksumRule({ ...checksumForm(found), [row]: typed })).toEqual({ rule: null, problems: { [row]: says } });
  });

  it('asks for a method where none was found, and for a byte where none is covered', () => {
    const free = checksumForm(freeChecksum({ lsb: { byte: 3, bit: 0 }, length: 8, order: 'little' }, 4, new Set([3])));
    expect(free.covers).toEqual([0, 1, 2]);
    expect(checksumRule(free).problems).toHaveProperty('method');
    expect(checksumRule({ ...free, method: 'sum' }).rule).toMatchObject({ method: 'sum', covers: [0, 1, 2], width: 8 });
    expect(checksumRule({ ...free, method: 'sum', covers: [] }).problems).toHaveProperty('covers');
  });
});

describe('a counter as typed', () => {
  const form = counterForm(freeCounter({ lsb: { byte: 1, bit: 4 }, length: 4, order: 'little' }));

  it('becomes step and highest value', () => {
    expect(counterRule(form, 2).rule).toMatchObject({ step: 1, min: 0, max: 15, length: 4 });
    expect(counterRule({ ...form, modulus: '15', step: '-1' }, 2).rule).toMatchObject({ step: -1, max: 14 });
  });

  it('says what its bits can hold', () => {
    expect(counterRule({ ...form, modulus: '17' }, 2).problems?.['modulus']).toContain('from 2 to 16');
    expect(counterRule({ ...form, bits: '5' }, 2).problems?.['bits']).toContain('from 1 to 4');
    expect(counterRule({ ...form, byte: '2' }, 2).problems?.['byte']).toContain('from 0 to 1');
    expect(counterRule({ ...form, step: '0' }, 2).problems?.['step']).toContain('never counts');
  });
});

describe('covered bits that never moved', () => {
  const moved = (bits: readonly number[]): number[] =>
    Array.from({ length: 64 }, (_, at) => (bits.includes(at) ? 0.5 : 0));
  const byte = (at: number): number[] => Array.from({ length: 8 }, (_, bit) => at * 8 + bit);

  it('are whole bytes and runs of bits; the bits of the checksum and what a mask leaves out are none', () => {
    const changeShare = moved([...byte(0), 8, 9, 10, 11, ...byte(7)]);
    expect(stillWords([0, 1, 2, 3, 5], changeShare, new Set())).toBe('bytes 2–3 and 5 and bits 7–4 of byte 1');
    expect(stillWords([0, { byte: 1, mask: '0x0F' }], changeShare, new Set())).toBe('');
    expect(stillWords([0, 1], changeShare, new Set([12, 13, 14, 15]))).toBe('');
    expect(stillWords([2], changeShare, new Set())).toBe('byte 2');
  });
});
