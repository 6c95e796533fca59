/** `compare` on the demo: the missing module first, spans of either capture, and what is wrong usage. */
import { beforeAll, describe, expect, it } from 'vitest';
import { jsonOf, loomscribe } from '../support/command.ts';
import { compareShape } from '../support/contract-shapes.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

let demo: DemoFolder;
beforeAll(async () => {
  demo = await demoFolder();
}, 120_000);

describe('compare', () => {
  it('says first what the missing module sent, and who reacts', async () => {
    const { code, out, err } = await loomscribe(['compare', demo.main, '--', demo.unplugged]);
    expect(code).toBe(0);
    expect(out).toMatch(/^\d+ identifiers are silent together: sent by the missing module/);
    expect(out.indexOf('react to its absence')).toBeGreaterThan(out.indexOf('sent by the missing module: '));
    expect(out).toMatch(/can0 0x110 .*slower: 10 ms -> 40 ms/);
    expect(err).toContain('the vehicle was used otherwise');
  });

  it('compares two spans of one capture', async () => {
    const words = ['compare', demo.main, '--span-a', '20:50', '--', demo.main, '--span-b', '50:80'];
    const comparison = compareShape.parse(await jsonOf(words));
    expect(comparison.onlyInA.length).toBeLessThan(6);
  });

  it.each([
    [['--span-a', 'ten:20'], 2, '--span-a takes seconds'],
    [['--span-a', '20:10'], 2, '--span-a takes seconds'],
    [['--span-a', '9000:9001'], 1, 'holds no frame in the span'],
  ] as const)('refuses %j', async (option, exit, words) => {
    const { code, out, err } = await loomscribe(['compare', demo.cut, '--', demo.cut, ...option]);
    expect(code).toBe(exit);
    expect(out).toBe('');
    expect(err).toContain(words);
  });
});
