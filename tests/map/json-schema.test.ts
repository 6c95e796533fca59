/** The JSON Schema that is shipped: the one generated, and one that tells maps from what is none. */
import Ajv from 'ajv/dist/2020.js';
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { vehicleFor } from '../../src/demo/vehicle.ts';
import { mapJsonSchema } from '../../src/map/json-schema.ts';
import { printJson } from '../../src/map/print.ts';
import { signalMapSchema, type SignalMap } from '../../src/map/schema.ts';
import { HAND_MAPS } from '../handover/maps/hand-maps.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';

const shipped = readFileSync(new URL('../../docs/signal-map.schema.json', import.meta.url), 'utf8');
const validate = new Ajv({ strict: false }).compile(mapJsonSchema());

const place = { lsb: { byte: 0, bit: 0 }, length: 8 };
const whole = aMap([
  aFrame({
    selectors: [aSelector(place)],
    counters: [aCounter(place)],
    checksums: [aChecksum({ ...place, method: 'sum', covers: [1, { byte: 2, mask: '0x0F' }], prefix: ['0x01'] })],
    signals: [aSignal({ ...place, observed: { min: 0, max: 1 } })],
    unclaimed: [{ ...place, order: 'little', reason: 'idle', value: 0 }],
  }),
]);

type Path = readonly (string | number)[];
/** A copy with one value replaced, or left out where it is undefined. */
function changed(path: Path, value: unknown): unknown {
  const copy = JSON.parse(JSON.stringify(whole)) as Record<string, unknown>;
  const parent = path.slice(0, -1).reduce<Record<string | number, unknown>>((at, key) => at[key] as never, copy);
  if (value === undefined) delete parent[path.at(-1) as string];
  else parent[path.at(-1) as string] = value;
  return copy;
}

const IN_FRAME = (...path: Path): Path => ['frames', 0, ...path];
const BROKEN: readonly (readonly [Path, unknown])[] = [
  [['format'], 'another.map'],
  [['version'], 2],
  [['frames'], undefined],
  [['buses', 0, 'bitrate'], '500k'],
  [['captures', 0, 'files', 0, 'bytes'], -1],
  [IN_FRAME('id'), '1F4'],
  [IN_FRAME('id'), '0x1f4'],
  [IN_FRAME('length'), 65],
  [IN_FRAME('role'), 'sender'],
  [IN_FRAME('timing', 'kind'), 'sometimes'],
  [IN_FRAME('timing', 'periodMs'), '10 ms'],
  [IN_FRAME('rest', 'payload'), '00 1'],
  [IN_FRAME('rest', 'payload'), '0a'],
  [IN_FRAME('need', 'verdict'), 'perhaps'],
  [IN_FRAME('counters', 0, 'step'), 0.5],
  [IN_FRAME('counters', 0, 'confidence'), 1.5],
  [IN_FRAME('checksums', 0, 'method'), 'magic'],
  [IN_FRAME('checksums', 0, 'prefix'), [1]],
  [IN_FRAME('checksums', 0, 'covers', 1, 'byte'), 64],
  [IN_FRAME('selectors', 0, 'name'), undefined],
  [IN_FRAME('signals', 0, 'name'), ''],
  [IN_FRAME('signals', 0, 'lsb', 'bit'), 8],
  [IN_FRAME('signals', 0, 'length'), 0],
  [IN_FRAME('signals', 0, 'order'), 'middle'],
  [IN_FRAME('signals', 0, 'coding'), 'octal'],
  [IN_FRAME('signals', 0, 'scale'), null],
  [IN_FRAME('signals', 0, 'observed'), [0, 1]],
  [IN_FRAME('signals', 0, 'states'), { '1': 1 }],
  [IN_FRAME('signals', 0, 'table'), [[1, 2, 3]]],
  [IN_FRAME('signals', 0, 'standing'), 'certain'],
  [IN_FRAME('unclaimed', 0, 'reason'), 'dull'],
];

describe('the JSON Schema of the map', () => {
  it('is the file that is shipped', () => {
    expect(shipped, 'write it anew: npx tsx tests/map/ship-schema.mts').toBe(printJson(mapJsonSchema()));
  });

  const accepted: readonly (readonly [string, SignalMap])[] = [
    ['with one of everything', whole],
    ...HAND_MAPS.map(({ name, map }) => [name, map] as const),
    ...(['plain', 'paged', 'fd', 'guarded'] as const).map((each) => [each, vehicleFor(each, 5).map] as const),
  ];
  it.each(accepted)('accepts a map: %s', (_name, map) => {
    expect(validate(map), JSON.stringify(validate.errors)).toBe(true);
  });

  it('accepts keys that it does not name', () => {
    expect(validate(changed(IN_FRAME('signals', 0, 'spiral'), [1]))).toBe(true);
  });

  it.each(BROKEN)('refuses %j as %j, as the program does', (path, value) => {
    const broken = changed(path, value);
    expect(validate(broken)).toBe(false);
    expect(signalMapSchema.safeParse(broken).success).toBe(false);
  });

  it('says units where a number has one', () => {
    const text = JSON.stringify(mapJsonSchema());
    for (const key of ['periodMs', 'jitterMs', 'fromS', 'bitrate', 'delayMs'])
      expect(text).toMatch(new RegExp(`"${key}":\\{[^{}]*(\\{[^{}]*\\}[^{}]*)*"description"`));
  });
});
