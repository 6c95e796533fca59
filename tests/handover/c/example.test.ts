/** The worked example of docs/c-code.md compiles strictly, as C99 and C++17, with the C of the demo's map. */
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { makePostVan } from '../../../src/demo/post-van.ts';
import { recordDrive } from '../../../src/demo/record.ts';
import { restSpan } from '../../../src/demo/rest-span.ts';
import { writeScript } from '../../../src/demo/script.ts';
import { completeMap } from '../../../src/demo/true-map.ts';
import { generateC } from '../../../src/handover/c/source.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { requireGcc, STRICT, workplace, type Workplace } from '../../support/compile-c.ts';

const text = readFileSync(new URL('../../../docs/c-code.md', import.meta.url), 'utf8');
const blocks = [...text.matchAll(/^```c\n([\s\S]*?)^```$/gm)].map(([, code = '']) => code);

const keyOn: SignalMap['sequences'][number] = {
  ...{ name: 'key on', event: 'key on', n: 3 },
  steps: [
    {
      ...{ bus: 'can0', id: '0x1F5', signal: 'inverter_state', from: 0, to: 1, group: null },
      ...{ delayMs: [0, 0], seen: 3 },
    },
  ],
};

let place: Workplace;
beforeAll(() => {
  requireGcc();
  const drive = recordDrive(makePostVan(5), writeScript(5, { durationS: 40 }), { seed: 5 });
  const map = completeMap(drive.recording, 'first drive', [], restSpan(drive));
  const { header, source } = generateC({ ...map, sequences: [keyOn] }, { cautions: [] });
  place = workplace();
  place.write('signal_map.h', header);
  place.write('signal_map.c', source);
  blocks.forEach((block, i) => place.write(`example_${i}.c`, block));
});
afterAll(() => place.remove());

it('has a main loop and a sequence', () => {
  expect(blocks.map((block) => /board_main|sequence_key_on/.exec(block)?.[0])).toEqual([
    'board_main',
    'sequence_key_on',
  ]);
});

it.each([0, 1])('block %i', (i) => {
  const file = `example_${i}.c`;
  expect(() => {
    place.compile('gcc', ['-std=c99', ...STRICT, '-c', file, '-o', 'example.o']);
    place.compile('g++', ['-x', 'c++', '-std=c++17', ...STRICT, '-c', file, '-o', 'example.o']);
  }).not.toThrow();
});
