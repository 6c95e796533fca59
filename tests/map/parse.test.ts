import Ajv from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { checkMap } from '../../src/map/check.ts';
import { requiredFeatures } from '../../src/map/features.ts';
import { mapJsonSchema } from '../../src/map/json-schema.ts';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import { refusedFrames } from '../../src/map/refused.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { createRandom } from '../../src/kit/random.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';
import { randomFrame } from '../support/random-frames.ts';

const speed = aSignal({ name: 'speed', lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' });

function parsed(value: unknown): SignalMap {
  const outcome = parseMap(JSON.stringify(value), 'part.json');
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

const firstProblem = (text: string) => {
  const outcome = parseMap(text, 'part.json');
  if (outcome.ok) throw new Error('it was accepted');
  return outcome.problems[0];
};

const codes = (frame: MapFrame, part: Partial<SignalMap> = {}) => {
  const map = aMap([frame], part);
  const { errors, warnings } = checkMap({ ...map, requires: part.requires ?? requiredFeatures(map) });
  return { errors: errors.map(({ code }) => code), warnings: warnings.map(({ code }) => code) };
};

describe('reading a map', () => {
  it('accepts what it printed, and prints it the same again', () => {
    const random = createRandom('print');
    for (let i = 0; i < 30; i++) {
      const frames = [0, 1, 2].map((n) => ({ ...randomFrame(random), id: `0x10${n}` }));
      const map = aMap(frames, { requires: requiredFeatures({ frames }) });
      const text = printMap(map);
      const outcome = parseMap(text, 'part.json');
      expect(outcome.ok && outcome.value).toEqual(JSON.parse(JSON.stringify(map)));
      expect(outcome.ok && printMap(outcome.value)).toBe(text);
    }
  });

  it('keeps unknown keys at every level, behind the known ones', () => {
    const extra = { x_kept: { deep: [1, { y: 2 }] } };
    const frame = {
      ...extra,
      ...aFrame({
        signals: [{ ...extra, ...speed, lsb: { byte: 1, bit: 0, ...extra }, observed: { min: 0, max: 1, ...extra } }],
        counters: [{ ...aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 }), ...extra }],
        checksums: [{ ...aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'unsolved' }), ...extra }],
      }),
      timing: {
        kind: 'periodic',
        periodMs: 10,
        jitterMs: null,
        byMode: { on: { kind: 'once', periodMs: null, jitterMs: null, ...extra } },
        ...extra,
      },
      need: { verdict: 'untested', how: '', ...extra },
    };
    const map = { ...extra, ...aMap([frame as MapFrame]), part: { title: '', donor: '', notes: '', ...extra } };
    const again = JSON.parse(printMap(parsed(map))) as typeof map;
    expect(again).toEqual(JSON.parse(JSON.stringify(map)));
    expect(Object.keys(again).at(-1)).toBe('x_kept');
    expect(Object.keys(again)[0]).toBe('format');
  });

  it('puts what fits a line on a line', () => {
    const text = printMap(aMap([aFrame({ signals: [speed] })]));
    expect(text).toContain(
      '"rest": { "payload": "00 00 00 00 00 00 00 00", "capture": "c1", "fromS": 0, "toS": 1 },\n',
    );
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThan(120);
  });

  it('says where the JSON breaks', () => {
    expect(firstProblem('{\n  "format": oops\n}')).toMatchObject({ code: 'not-json', place: { file: 'part.json' } });
  });

  it.each([
    ['[]', 'not-a-signal-map'],
    ['{"format":"something.else","version":1}', 'not-a-signal-map'],
    ['{"format":"loomscribe.signal-map","version":2}', 'unknown-version'],
    ['{"format":"loomscribe.signal-map","version":1}', 'not-in-schema'],
  ])('refuses %s: %s', (text, code) => {
    expect(firstProblem(text).code).toBe(code);
  });

  it('names the path, what is wrong and what to do', () => {
    const map = aMap([aFrame(), aFrame({ signals: [speed, { ...speed, coding: 'gray' as 'unsigned' }] })]);
    const problem = firstProblem(JSON.stringify(map));
    expect(problem.place?.path).toBe('frames[1].signals[1].coding');
    expect(problem.advice).toContain('"sign-magnitude"');
    const long = aMap([aFrame({ signals: [{ ...speed, length: 0 }] })]);
    expect(firstProblem(JSON.stringify(long)).place?.path).toBe('frames[0].signals[0].length');
  });
});

describe('features this program does not know', () => {
  const plain = aFrame({ id: '0x100', name: 'plain', signals: [speed] });
  const strange = { ...aFrame({ id: '0x200', name: 'strange', signals: [{ ...speed, spiral: { turns: 2 } }] }) };

  it('refuses the frames that use one by name, returns the others and loses nothing', () => {
    const map = { ...aMap([strange, plain] as MapFrame[]), requires: ['spiral'] };
    const outcome = parseMap(JSON.stringify(map), 'part.json');
    if (!outcome.ok) throw new Error('refused whole');
    expect(outcome.value.frames.map(({ name }) => name)).toEqual(['plain']);
    expect(outcome.warnings[0]).toMatchObject({ code: 'frame-refused', place: { path: 'frames[0]' } });
    expect(outcome.warnings[0]?.message).toContain('strange (can0 0x200)');
    expect(refusedFrames(outcome.value)).toHaveLength(1);
    expect(JSON.parse(printMap({ ...outcome.value, sequences: [] }))).toEqual(JSON.parse(JSON.stringify(map)));
  });

  it('takes a frame that the schema does not accept for one of them', () => {
    const odd = { ...plain, id: '0x300', name: 'odd', signals: [{ ...speed, coding: 'gray' }] };
    const outcome = parseMap(JSON.stringify({ ...aMap([plain]), frames: [plain, odd], requires: ['gray-code'] }), 'm');
    expect(outcome.ok && outcome.value.frames.map(({ name }) => name)).toEqual(['plain']);
  });

  it('refuses all frames where none can be told', () => {
    const outcome = parseMap(JSON.stringify(aMap([plain], { requires: ['unheard-of'] })), 'm');
    expect(outcome.ok && outcome.value.frames).toEqual([]);
    expect(outcome.ok && outcome.warnings.map(({ code }) => code)).toEqual(['frame-refused']);
  });
});

describe('the JSON Schema', () => {
  const validate = new Ajv({ strict: false }).compile(mapJsonSchema());
  it('accepts what the program accepts and refuses what it refuses', () => {
    const random = createRandom('schema');
    for (let i = 0; i < 20; i++) expect(validate(JSON.parse(printMap(aMap([randomFrame(random)]))))).toBe(true);
    expect(validate({ ...aMap([]), anything: 1 })).toBe(true);
    expect(validate(aMap([aFrame({ id: '1F4' })]))).toBe(false);
    expect(validate({ ...aMap([]), version: 2 })).toBe(false);
  });
});

describe('checks beyond the schema', () => {
  const at = (byte: number, bit: number, length: number, part = {}) => aSignal({ lsb: { byte, bit }, length, ...part });
  it.each<[string, Partial<MapFrame>, string]>([
    ['a field outside the frame', { length: 2, signals: [at(1, 4, 8)] }, 'field-outside-frame'],
    ['a field that runs off the front', { signals: [at(0, 0, 16, { order: 'big' })] }, 'field-outside-frame'],
    ['a selector that is not there', { signals: [at(0, 0, 8, { when: { page: [1] } })] }, 'unknown-selector'],
    [
      'a page that is never on',
      {
        selectors: [aSelector({ lsb: { byte: 1, bit: 0 }, length: 2 })],
        signals: [at(0, 0, 8, { when: { page: [4] } })],
      },
      'page-never-on',
    ],
    ['two signals of one name', { signals: [at(0, 0, 8, { name: 'a' }), at(1, 0, 8, { name: 'a' })] }, 'name-twice'],
    ['a float of 16 bits', { signals: [at(0, 0, 16, { coding: 'float' })] }, 'float-length'],
    ['text of 12 bits', { signals: [at(0, 0, 12, { coding: 'text' })] }, 'text-length'],
    ['a scale of nothing', { signals: [at(0, 0, 8, { scale: 0 })] }, 'scale-zero'],
    [
      'a table out of order',
      {
        signals: [
          at(0, 0, 8, {
            table: [
              [2, 0],
              [1, 1],
            ],
          }),
        ],
      },
      'table-order',
    ],
    ['a state beyond the bits', { signals: [at(0, 0, 2, { states: { '4': 'x' } })] }, 'state-key'],
    [
      'invalid values upside down',
      { signals: [at(0, 0, 8, { invalid: [{ from: 3, to: 2, meaning: '' }] })] },
      'invalid-range',
    ],
    [
      'a counter that stands',
      { counters: [aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, step: 16 })] },
      'counter-stands',
    ],
    [
      'a counter wider than its bits',
      { counters: [aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, max: 16 })] },
      'counter-range',
    ],
    [
      'a CRC without a polynomial',
      { checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'crc', covers: [0] })] },
      'no-polynomial',
    ],
    [
      'tables without a counter',
      {
        checksums: [
          aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0], suffixByCounter: [['0x1']] }),
        ],
      },
      'no-counter',
    ],
    [
      'covered bytes outside the frame',
      { checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [8] })] },
      'covers-outside-frame',
    ],
    ['a rest payload of another length', { rest: { payload: '00', capture: 'c1', fromS: 0, toS: 1 } }, 'rest-length'],
    ['an identifier too large', { id: '0x800' }, 'identifier-too-large'],
    [
      'pieces that share bits',
      { signals: [at(0, 0, 8, { continues: [{ lsb: { byte: 0, bit: 4 }, length: 4, order: 'little' }] })] },
      'bits-used-twice',
    ],
  ])('%s', (_title, part, code) => {
    expect(codes(aFrame(part)).errors).toContain(code);
  });

  it('warns of overlaps on the same page only', () => {
    const selectors = [aSelector({ lsb: { byte: 7, bit: 0 }, length: 2 })];
    const pages = (a: number[], b: number[]) =>
      aFrame({
        selectors,
        signals: [at(0, 0, 8, { name: 'a', when: { page: a } }), at(0, 4, 4, { name: 'b', when: { page: b } })],
      });
    expect(codes(pages([0, 1], [1])).warnings).toContain('overlap');
    expect(codes(pages([0], [1])).warnings).not.toContain('overlap');
  });

  it('warns of a one-byte field written big', () => {
    expect(codes(aFrame({ signals: [at(0, 0, 8, { order: 'big' })] })).warnings).toEqual(['one-byte-big']);
  });

  it('holds `requires` against what is really used', () => {
    const frame = aFrame({
      signals: [
        at(0, 0, 8, {
          table: [
            [0, 1],
            [255, 2],
          ],
        }),
      ],
    });
    expect(codes(frame, { requires: [] }).errors).toEqual(['feature-not-listed']);
    expect(codes(frame, { requires: ['table', 'when'] }).warnings).toEqual(['feature-not-used']);
    expect(codes(frame, { requires: ['table'] })).toEqual({ errors: [], warnings: [] });
  });

  it('knows every feature', () => {
    const selectors = [aSelector({ lsb: { byte: 7, bit: 0 }, length: 2 })];
    const when = { page: [1] };
    expect(requiredFeatures({ frames: [aFrame({ selectors, signals: [at(0, 0, 8, { when })] })] })).toEqual(['when']);
    expect(
      requiredFeatures({
        frames: [
          aFrame({ selectors, checksums: [aChecksum({ lsb: { byte: 0, bit: 0 }, length: 8, method: 'mac', when })] }),
        ],
      }),
    ).toEqual(['checksum-when']);
    const continues = [{ lsb: { byte: 3, bit: 0 }, length: 1, order: 'little' as const }];
    expect(requiredFeatures({ frames: [aFrame({ signals: [at(0, 0, 8, { continues })] })] })).toEqual(['continues']);
  });

  it('finds one frame written twice, whatever the zeros before its identifier', () => {
    const map = aMap([aFrame({ id: '0x12' }), aFrame({ id: '0x012' }), aFrame({ id: '0x12', extended: true })]);
    expect(checkMap(map).errors.map(({ code }) => code)).toEqual(['frame-twice']);
  });
});
