/** What is said of a membership that something beside the clock decided: of four identifiers, the first three in one group. */
import { describe, expect, it } from 'vitest';
import { besideWords } from '../../src/timing/senders/beside-words.ts';
import type { Beside } from '../../src/timing/senders/shared-moments.ts';

const N = 4;
type Counts = Beside['together'];

/** [n * n] with the same figure for one identifier and some others. */
function pairs(place: number, others: readonly number[], value: number): Uint8Array {
  const all = new Uint8Array(N * N);
  for (const other of others) all[place * N + other] = all[other * N + place] = value;
  return all;
}

const none = (): Counts => ({
  starts: new Uint8Array(N * N),
  stops: new Uint8Array(N * N),
  restarts: new Uint8Array(N * N),
});
const beside = (given: Partial<Beside>): Beside => ({
  n: N,
  evidence: new Float64Array(N * N),
  together: none(),
  apart: none(),
  guards: new Uint8Array(N * N),
  ...given,
});
const FIRST = { place: 0, others: [1, 2] };

describe('words beside clocks', () => {
  it('are none where clocks decided', () => {
    const told = beside({ together: { ...none(), starts: pairs(0, [1, 2], 3) } });
    expect(besideWords(told, FIRST, { confidence: 0.95, clocksAlone: 0.93 })).toBe('');
  });
  it('say which moments are shared, with how many and how often', () => {
    const told = beside({ together: { ...none(), starts: pairs(0, [1, 2], 3) } });
    expect(besideWords(told, FIRST, { confidence: 0.95, clocksAlone: 0.7 })).toBe(
      'it begins with 2 of the 2 others, on up to 3 occasions: surer for it than by clocks alone, 0.70',
    );
  });
  it('say that guards are alike', () => {
    const told = beside({ guards: pairs(0, [2], 1) });
    expect(besideWords(told, FIRST, { confidence: 0.95, clocksAlone: 0.7 })).toBe(
      'its guard has the parameters of 1 of them, as few others have: surer for it than by clocks alone, 0.70',
    );
  });
  it('say what speaks against the membership', () => {
    const told = beside({ apart: { ...none(), stops: pairs(0, [1], 1) } });
    expect(besideWords(told, FIRST, { confidence: 0.6, clocksAlone: 0.9 })).toBe(
      'it stops apart from 1 of the 2 others, once: less sure for it than by clocks alone, 0.90',
    );
  });
});
