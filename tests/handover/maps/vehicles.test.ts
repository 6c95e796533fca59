/** Maps of simulated vehicles of four makers: their generated C against the program's decoder, on every frame of a capture of each. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { requireGcc } from '../../support/compile-c.ts';
import {
  build,
  IN_WHOLE_NUMBERS,
  compileStrictly,
  holdOutput,
  recordsFor,
  runChecked,
  runOnPowerPc,
  runOptimised,
  type Built,
} from './hold-case.ts';
import type { MapCase } from './map-case.ts';
import { CLANG, leaveOutIf, POWERPC } from './toolchains.ts';
import { VEHICLES } from './vehicles.ts';

beforeAll(requireGcc);

describe.each(VEHICLES)('%s', (_name, make) => {
  let each: MapCase;
  let built: Built;
  let records: Uint8Array;
  let output: string;
  beforeAll(async () => {
    each = await make();
    built = build(each);
    records = recordsFor(each);
    output = runChecked(built, 'gcc', records);
  }, 120_000);
  afterAll(() => built.place.remove());

  it('the C decodes every frame to the same, and encodes it to the same bytes', () => {
    const { frames, same, decodeOnly, troubles } = holdOutput(each, built.code, output);
    expect(troubles).toEqual([]);
    expect(frames).toBeGreaterThan(5000);
    // The others are of frames whose guard has a secret or an unknown rule: they are decoded only.
    expect(same + decodeOnly).toBe(frames);
    expect(same).toBeGreaterThan(2000);
  });

  it('in whole numbers, with tables for its CRCs, it encodes every frame to the same bytes', () => {
    const counted = build(each, IN_WHOLE_NUMBERS);
    const { frames, same, decodeOnly, troubles } = holdOutput(each, counted.code, runOptimised(counted, records));
    counted.place.remove();
    expect(troubles).toEqual([]);
    expect(same + decodeOnly).toBe(frames);
  });

  it('compiles as strict C99 and C++17 with gcc', () => compileStrictly(built, 'gcc', 'g++'));

  it('compiles with clang', ({ skip }) => {
    leaveOutIf(CLANG, skip);
    compileStrictly(built, 'clang', 'clang++');
  });

  it('prints the same on a 32-bit big-endian machine', ({ skip }) => {
    leaveOutIf(POWERPC, skip);
    expect(runOnPowerPc(built, records) === output).toBe(true);
  });
});
