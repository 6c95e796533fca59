/** What is said of marks that all miss their recording. */
import { describe, expect, it } from 'vitest';
import { strayWords } from '../../src/app/words/stray-marks.ts';

const at = (startS: number, endS: number | null = null): { startS: number; endS: number | null } => ({ startS, endS });

describe('marks outside their recording', () => {
  it('are said to be, with where the recording ends and where they stand', () => {
    const words = strayWords([at(5000, 5002), at(5010)], 60);
    expect(words).toContain('All 2 marks');
    expect(words).toContain('1:00.0');
    expect(words).toContain('1:23:20.0');
    expect(strayWords([at(-9, -4)], 60)).toContain('The mark lies outside');
  });
  it('nothing is said while one reaches into it, or where there are none', () => {
    expect(strayWords([at(-9, 1), at(5000)], 60)).toBeNull();
    expect(strayWords([at(60)], 60)).toBeNull();
    expect(strayWords([], 60)).toBeNull();
  });
});
