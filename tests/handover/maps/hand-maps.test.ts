/**
 * Maps made by hand: the program's decoder against vectors worked out on paper, and the generated C against the program's decoder.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import { checkMap } from '../../../src/map/check.ts';
import { compileFrame } from '../../../src/map/decode.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { vectorOf } from './expected.ts';
import { caseOfHand, vectorPayload } from './hand-map.ts';
import { HAND_MAPS } from './hand-maps.ts';
import {
  build,
  IN_WHOLE_NUMBERS,
  compileStrictly,
  holdOutput,
  recordsFor,
  runChecked,
  runOnPowerPc,
  type Built,
} from './hold-case.ts';
import type { CapturedFrame, MapCase } from './map-case.ts';
import { CLANG, leaveOutIf, POWERPC } from './toolchains.ts';

beforeAll(requireGcc);

describe.each(HAND_MAPS.map((hand) => [hand.name, hand] as const))('%s', (_name, hand) => {
  const drawn = caseOfHand(hand);
  const onPaper = hand.vectors.map((vector): CapturedFrame => ({
    index: vector.index,
    payload: vectorPayload(vector),
  }));
  const whole: MapCase = { ...drawn, capture: [...onPaper, ...drawn.capture] };
  const records = recordsFor(whole);
  let built: Built;
  let output: string;
  beforeAll(() => {
    built = build(whole);
    output = runChecked(built, 'gcc', records);
  }, 120_000);
  afterAll(() => built.place.remove());

  it('is a map without faults', () => {
    expect(checkMap(whole.map)).toEqual({ errors: [], warnings: [] });
  });

  it('decodes to what was worked out on paper', () => {
    for (const vector of hand.vectors) {
      const decoded = compileFrame(hand.map.frames[vector.index] as MapFrame).decode(vectorPayload(vector));
      const { counters = {}, holds = decoded.checksums.map(() => true) } = vector;
      expect(vectorOf(vector.index, vector.payload, decoded)).toEqual({ ...vector, counters, holds });
    }
  });

  it('the C decodes every frame to the same, and encodes it to the same bytes', () => {
    const { frames, same, decodeOnly, troubles } = holdOutput(whole, built.code, output);
    expect(troubles).toEqual([]);
    expect(decodeOnly).toBe(0);
    // Endless floats and packed digits above nine are decoded and not sent again.
    expect(same / frames).toBeGreaterThan(0.9);
  });

  it('in whole numbers, with tables for its CRCs, it encodes every frame to the same bytes', () => {
    const counted = build(whole, IN_WHOLE_NUMBERS);
    const { frames, same, troubles } = holdOutput(whole, counted.code, runChecked(counted, 'gcc', records));
    counted.place.remove();
    expect(troubles).toEqual([]);
    expect(same / frames).toBeGreaterThan(0.9);
  });

  it('compiles as strict C99 and C++17 with gcc', () => compileStrictly(built, 'gcc', 'g++'));

  it('compiles with clang and prints the same', ({ skip }) => {
    leaveOutIf(CLANG, skip);
    compileStrictly(built, 'clang', 'clang++');
    expect(runChecked(built, 'clang', records) === output).toBe(true);
  });

  it('prints the same on a 32-bit big-endian machine', ({ skip }) => {
    leaveOutIf(POWERPC, skip);
    expect(runOnPowerPc(built, records) === output).toBe(true);
  });
});

it.each(['float', 'integer'] as const)('a float that has no rule is left out and said so, in %s', (scaling) => {
  const half = aSignal({ name: 'half', lsb: { byte: 0, bit: 0 }, length: 16, coding: 'float' });
  const code = generateC(aMap([aFrame({ name: 'odd', signals: [half] })]), { cautions: [], scaling });
  expect(code.leftOut).toContainEqual({
    name: 'odd.half',
    why: expect.stringContaining('neither 32 nor 64') as string,
  });
  expect(code.header).not.toContain('half;');
});
