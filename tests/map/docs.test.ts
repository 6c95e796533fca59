import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readRawBig } from '../../src/frames/bits.ts';
import { checkMap } from '../../src/map/check.ts';
import { compileEncoder } from '../../src/map/encode.ts';
import { parseMap } from '../../src/map/parse.ts';
import { parsePayload } from '../../src/map/raw-values.ts';

const page = readFileSync(new URL('../../docs/signal-map.md', import.meta.url), 'utf8');
const example = /```json\n([\s\S]*?)```/.exec(page)?.[1] ?? '';
const worked = /payload `([0-9A-F ]+)`:/.exec(page)?.[1] ?? '';

function exampleFrame() {
  const outcome = parseMap(example, 'docs/signal-map.md');
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  const [frame] = outcome.value.frames;
  if (!frame) throw new Error('the example has no frame');
  return { map: outcome.value, frame };
}

describe('the page about the signal map', () => {
  it('shows a map that the program reads without a word of complaint', () => {
    const { map } = exampleFrame();
    expect(checkMap(map)).toEqual({ errors: [], warnings: [] });
  });

  it('works its example through rightly', () => {
    const { decode } = compileEncoder(exampleFrame().frame).compiled;
    const decoded = decode(parsePayload(worked) ?? new Uint8Array());
    const values = Object.fromEntries(decoded.signals.map(({ name, physical, state }) => [name, state ?? physical]));
    expect(values).toEqual({ motor_speed: -100, state: 'driving', link_voltage: 402 });
    expect(decoded.counters).toEqual({ alive: 14 });
    expect(decoded.checksums[0]?.holds).toBe(true);
    for (const raw of ['0xFF38', '0x648', '0x7D']) expect(page).toContain(raw);
  });

  it('shows a rest payload whose checksum agrees, and a next frame that can be built from it', () => {
    const encoder = compileEncoder(exampleFrame().frame);
    const rest = parsePayload(encoder.compiled.frame.rest?.payload ?? '') ?? new Uint8Array();
    expect(encoder.compiled.decode(rest).checksums[0]?.holds).toBe(true);
    const next = encoder.encode({ motor_speed: 100 }, { counters: 'advance', ranges: 'observed' });
    expect(next.ok && encoder.compiled.decode(next.value).counters).toEqual({ alive: 1 });
  });

  it('draws the two fields where they are', () => {
    const payload = Uint8Array.of(0x12, 0x34, 0x56, 0x78);
    for (const [order, byte, value] of [
      ['little', 1, '0x563'],
      ['big', 2, '0x345'],
    ] as const) {
      expect(page).toContain(`${order}, lsb byte ${byte} bit 4, length 12`);
      expect(page).toContain(`= ${value}`);
      expect(readRawBig({ lsb: { byte, bit: 4 }, length: 12, order }, payload)).toBe(BigInt(value));
    }
  });
});
