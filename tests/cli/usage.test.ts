import { describe, expect, it } from 'vitest';
import { helpFor } from '../../src/cli/verb.ts';
import { compare } from '../../src/cli/verbs/compare.ts';
import { VERBS } from '../../src/cli/verbs/index.ts';
import { loomscribe } from '../support/command.ts';

// The verbs that the contract lists, and those that came since.
const VERB_NAMES = [
  'survey',
  'fields',
  'link',
  'fit',
  'draft',
  'decode',
  'prove',
  'compare',
  'merge',
  'handover',
  'excerpt',
  'bench',
  'publish',
  'demo',
];

describe('the command line', () => {
  it('has every verb of the contract, and no other', () => {
    expect(VERBS.map((verb) => verb.name)).toEqual(VERB_NAMES);
  });

  it('lists the verbs, with the cautions', async () => {
    const { code, out } = await loomscribe(['--help']);
    expect(code).toBe(0);
    for (const verb of VERB_NAMES) expect(out).toContain(`  ${verb} `);
    expect(out).toContain('high voltage');
  });

  it.each(VERBS.map((verb) => [verb.name, verb] as const))(
    'help for %s has its options and an example',
    (name, verb) => {
      const help = helpFor(verb);
      expect(help).toMatch(new RegExp(`Example\\n  loomscribe ${name}`));
      for (const option of verb.options) expect(help).toMatch(new RegExp(`^ {2}(-.,| {3}) --${option.name}\\b`, 'm'));
      expect(Math.max(...help.split('\n').map((line) => line.length))).toBeLessThanOrEqual(110);
    },
  );

  it('VERB --help prints it, whatever else stands there', async () => {
    const { code, out } = await loomscribe(['compare', 'a.log', '--', 'b.log', '--help']);
    expect([code, out]).toEqual([0, `${helpFor(compare)}\n`]);
  });

  it.each([
    ['no verb', [], 'VERB'],
    ['an unknown verb', ['surveys'], 'Did you mean "survey"?'],
    ['an unknown option', ['survey', 'x.log', '--nonsense'], '--nonsense'],
    ['no capture', ['survey'], 'Name the capture'],
    ['an option without its value', ['draft', 'x.log', '-o'], 'output'],
    ['a needed option left out', ['demo'], '--output DIR is needed'],
    ['a bit rate that is none', ['survey', 'x.log', '--bitrate', 'fast'], 'can0=500000'],
    ['an option given twice', ['draft', 'x.log', '-o', 'a.json', '-o', 'b.json'], '--output is given 2 times'],
    ['a data rate that no bus has', ['survey', 'x.log', '--bitrate', 'can0=500000/9'], 'data phase'],
    ['a seed that is no whole number', ['demo', '-o', 'x', '--seed', '1.5'], 'whole number'],
    ['standard input named twice', ['compare', '-', '--', '-'], 'once only'],
    ['one capture to compare', ['compare', 'x.log', '--json'], 'Name two captures'],
    ['a wrong option after --', ['compare', 'x.log', '--', 'y.log', '--nonsense'], '--nonsense'],
    ['a zone that is none', ['survey', 'x.log', '--tz', 'Mars'], '+02:00'],
  ])('%s is wrong usage: exit 2, nothing on standard output', async (_title, args, words) => {
    const { code, out, err } = await loomscribe(args);
    expect({ code, out }).toEqual({ code: 2, out: '' });
    expect(err).toContain(words);
  });

  it.each([
    ['a file that is not there', ['survey', 'nowhere.log'], 'there is no such file'],
    ['a folder', ['survey', 'src'], 'it is a folder'],
    ['a result under a file', ['demo', '-o', 'package.json/demo'], 'is a file'],
    ['a file with no frame in it', ['survey', 'package.json'], 'package.json'],
  ])('%s cannot be done: exit 1, nothing on standard output', async (_title, args, words) => {
    const { code, out, err } = await loomscribe(args);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toContain(words);
    expect(err).not.toContain('    at ');
  });
});
