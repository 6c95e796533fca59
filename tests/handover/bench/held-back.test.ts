import { describe, expect, it } from 'vitest';
import { heldBackText } from '../../../src/cli/held-back-text.ts';

const UNSHOWN = 'not shown harmless: release it by name';
const held = [
  { name: 'torque (can0/0x10)', why: 'torque may move the machine' },
  ...Array.from({ length: 33 }, (_, i) => ({ name: `frame_${i} (can0/0x${(0x200 + i).toString(16)})`, why: UNSHOWN })),
];

describe('frames that are held back, in words', () => {
  it('says each reason once, the one of most frames first, and names every frame', () => {
    const text = heldBackText(held, 'frames are held back:');
    expect(text.split(UNSHOWN)).toHaveLength(2);
    expect(text).toContain('34 frames are held back:\n- 33 frames: not shown harmless');
    for (const { name } of held) expect(text.replaceAll('\n  ', ' ')).toContain(name);
    expect(text.indexOf(UNSHOWN)).toBeLessThan(text.indexOf('may move'));
    expect(Math.max(...text.split('\n').map(({ length }) => length))).toBeLessThanOrEqual(110);
  });

  it('tells how to let one out only where one may be', () => {
    expect(heldBackText(held, 'stay out')).toContain('--release NAME');
    expect(heldBackText(held.slice(0, 1), 'stay out')).not.toContain('--release');
    expect(heldBackText([], 'stay out')).toBe('');
  });
});
