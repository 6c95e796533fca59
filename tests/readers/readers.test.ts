/**
 * The small readers that come with the page about the signal map: all three against the program's own decoder, on the maps and
 * captures that the generated C is held against.
 */
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Decoded } from '../../docs/readers/typescript/read-signal-map.ts';
import { compileFrame, type DecodedFrame } from '../../src/map/decode.ts';
import type { MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { caseOfHand, vectorPayload } from '../handover/maps/hand-map.ts';
import { HAND_MAPS } from '../handover/maps/hand-maps.ts';
import type { CapturedFrame, MapCase } from '../handover/maps/map-case.ts';
import { leaveOutIf, PYTHON } from '../handover/maps/toolchains.ts';
import { VEHICLES } from '../handover/maps/vehicles.ts';
import { aCounter, aFrame, aMap, aSignal } from '../support/map-parts.ts';
import { requireGcc } from '../support/compile-c.ts';
import { CommandLineReaders, inTypeScript, textOf, type AskedFrame, type Reader } from './run-readers.ts';

let commands: CommandLineReaders;
beforeAll(() => {
  requireGcc();
  commands = new CommandLineReaders();
}, 120_000);
afterAll(() => commands.place.remove());

const asked = (map: SignalMap, { index, payload }: CapturedFrame): AskedFrame => {
  const { bus, id, extended } = map.frames[index] as MapFrame;
  return { bus, id: Number(id), extended, payload };
};

/** What the program says of a frame, in the readers' shape; they judge counters, it does not. */
function saidBy(frame: MapFrame, { signals, counters, checksums }: DecodedFrame): unknown {
  return {
    frame: frame.name,
    refused: [],
    signals: signals.map(({ name, raw, physical, text, state, invalid }) => {
      const { coding, unit } = frame.signals.find((each) => each.name === name) as MapSignal;
      const none = invalid !== null || coding === 'text';
      const value = none ? null : Number.isFinite(physical) ? physical : String(physical);
      return { name, raw, value, unit, state, text, invalid };
    }),
    counters: Object.entries(counters).map(([name, value]) => ({ name, value })),
    checksums: checksums.map(({ holds }) => holds),
  };
}

const withoutVerdicts = (decoded: Decoded): unknown => ({
  ...decoded,
  counters: decoded.counters.map(({ name, value }) => ({ name, value })),
});

function hold(reader: Reader, { map, capture }: MapCase, most: number): void {
  const frames = capture.slice(0, most);
  const said = reader(
    textOf(map),
    frames.map((each) => asked(map, each)),
  );
  expect(said).toHaveLength(frames.length);
  const compiled = map.frames.map(compileFrame);
  frames.forEach(({ index, payload }, i) => {
    const { frame, decode } = compiled[index] as ReturnType<typeof compileFrame>;
    expect(withoutVerdicts(said[i] as Decoded), frame.name).toEqual(saidBy(frame, decode(payload)));
  });
  // Of a sender that loses nothing every counter runs on.
  const verdicts = said.flatMap(({ counters }) => counters.map(({ verdict }) => verdict));
  if (map.frames.every(({ counters }) => counters.length > 0)) expect(verdicts).toContain('ok');
}

/** Python takes its time over a frame. */
const MOST = { TypeScript: 1500, C: 1500, Python: 400 } as const;

const cases: readonly (readonly [string, () => MapCase | Promise<MapCase>])[] = [
  ...HAND_MAPS.map((hand) => {
    const onPaper = hand.vectors.map((each): CapturedFrame => ({ index: each.index, payload: vectorPayload(each) }));
    const make = (): MapCase => {
      const drawn = caseOfHand(hand);
      return { ...drawn, capture: [...onPaper, ...drawn.capture] };
    };
    return [hand.name, make] as const;
  }),
  ...VEHICLES.filter(([name]) => ['demo paged', 'demo guarded', 'veteran paged'].includes(name)),
];

describe.each(cases)('%s', (_name, make) => {
  let each: MapCase;
  beforeAll(async () => {
    each = await make();
  }, 120_000);
  it('in TypeScript', () => hold(inTypeScript, each, MOST.TypeScript));
  it('in C', () => hold(commands.inC, each, MOST.C));
  it('in Python', ({ skip }) => {
    leaveOutIf(PYTHON, skip);
    hold(commands.inPython, each, MOST.Python);
  });
});

const readers: readonly (readonly [string, () => Reader])[] = [
  ['TypeScript', () => inTypeScript],
  ['C', () => commands.inC],
  ['Python', () => commands.inPython],
];

describe.each(readers)('a reader in %s', (name, reader) => {
  beforeEach(({ skip }) => {
    if (name === 'Python') leaveOutIf(PYTHON, skip);
  });
  const send = (map: SignalMap, bytes: readonly number[]): Decoded[] =>
    reader()(
      textOf(map),
      bytes.map((byte) => ({ bus: 'can0', id: 0x123, extended: false, payload: Uint8Array.of(byte) })),
    );
  const verdicts = (part: Partial<Parameters<typeof aCounter>[0]>, values: readonly number[]): string[] =>
    send(
      aMap([aFrame({ length: 1, counters: [aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, ...part })] })]),
      values,
    ).map(({ counters }) => counters[0]?.verdict ?? '');

  it('tells a counter that runs on from one that stands, jumps or leaves its range', () => {
    // 0 to 14: after 14 comes 0; 15 is never sent; after it nothing is known.
    expect(verdicts({ max: 14 }, [13, 14, 0, 0, 1, 3, 15, 4, 5])).toEqual([
      'first',
      'ok',
      'ok',
      'repeated',
      'ok',
      'jumped',
      'out-of-range',
      'first',
      'ok',
    ]);
  });

  it('steps backwards, and only at every second frame, once it has seen where the value begins', () => {
    expect(verdicts({ step: -2, every: 2, min: 1, max: 8 }, [3, 3, 1, 1, 7, 5, 5, 5, 5])).toEqual([
      'first',
      'ok',
      'ok',
      'ok',
      'ok',
      'early',
      'ok',
      'repeated',
      'repeated',
    ]);
  });

  it('refuses by name a frame that needs what it lacks, and decodes the others', () => {
    const signal = aSignal({ name: 'level', lsb: { byte: 0, bit: 0 }, length: 8 });
    const plain = aFrame({ length: 1, signals: [signal] });
    const other = { ...plain, name: 'bent', id: '0x124', signals: [{ ...signal, spiral: [1, 2] }] };
    const map = aMap([plain, other], { requires: ['spiral'] });
    const payload = Uint8Array.of(7);
    const frames = [0x123, 0x124, 0x125].map((id) => ({ bus: 'can0', id, extended: false, payload }));
    const said = reader()(textOf(map), frames);
    expect(said.map(({ frame, refused, signals }) => [frame, refused, signals.length])).toEqual([
      ['frame_123', [], 1],
      ['bent', ['spiral'], 0],
      [null, [], 0],
    ]);
    // Where no frame names it, any of them may need it.
    const vague = reader()(textOf(aMap([plain], { requires: ['spiral'] })), frames.slice(0, 1));
    expect(vague.map(({ refused }) => refused)).toEqual([['spiral']]);
  });

  it('has nothing to say of signals that a frame is too short for', () => {
    const map = aMap([aFrame({ length: 2, signals: [aSignal({ lsb: { byte: 1, bit: 0 }, length: 8 })] })]);
    expect(send(map, [1])[0]?.signals).toEqual([]);
  });

  it('keeps names as they are written', () => {
    const name = 'a "b" \\ \n \u0001 \u2028 \u{1F980} </script> __proto__';
    const signal = aSignal({ name, lsb: { byte: 0, bit: 0 }, length: 8, unit: '\u00b0C', states: { '5': name } });
    const [said] = send(aMap([aFrame({ name, length: 1, signals: [signal] })]), [5]);
    expect([said?.frame, said?.signals[0]?.name, said?.signals[0]?.unit, said?.signals[0]?.state]).toEqual([
      name,
      name,
      '\u00b0C',
      name,
    ]);
  });
});
