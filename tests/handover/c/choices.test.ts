import { describe, expect, it } from 'vitest';
import { parseWords, WrongUsage } from '../../../src/cli/arguments.ts';
import { CODE_OPTIONS, codeChoices } from '../../../src/cli/code-choices.ts';

const chosen = (...words: string[]) => codeChoices(parseWords(words, CODE_OPTIONS));

describe('choices about the C on the command line', () => {
  it('are passed on; what is not said is left to the generator', () => {
    expect(chosen('--scaling', 'integer', '--crc', 'table', '--filters', '14')).toEqual({
      ...{ scaling: 'integer', crc: 'table', filters: 14 },
    });
    expect(chosen()).toEqual({});
  });

  it.each([
    ['--scaling', 'fixed'],
    ['--crc', 'fast'],
    ['--filters', '0'],
    ['--filters', '2.5'],
    ['--filters', 'all'],
  ])('%s %s is wrong usage', (option, value) => {
    expect(() => chosen(option, value)).toThrow(WrongUsage);
  });
});
