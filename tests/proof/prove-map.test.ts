import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { compileEncoder } from '../../src/map/encode.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { proveMap } from '../../src/proof/hold/prove-map.ts';
import type { ProofItem } from '../../src/proof/hold/types.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';

const status = aFrame({
  id: '0x1A0',
  name: 'winch_status',
  signals: [
    aSignal({
      name: 'speed',
      lsb: { byte: 1, bit: 0 },
      length: 16,
      order: 'big',
      coding: 'signed',
      scale: 0.5,
      observed: { min: -200, max: 4000 },
    }),
    aSignal({
      name: 'state',
      lsb: { byte: 2, bit: 0 },
      length: 3,
      kind: 'states',
      states: { '0': 'off', '1': 'ready', '2': 'turning' },
    }),
    aSignal({ name: 'spare', lsb: { byte: 3, bit: 0 }, length: 8, observed: { min: 0, max: 10 } }),
  ],
  counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4, max: 14 })],
  checksums: [
    aChecksum({
      lsb: { byte: 7, bit: 0 },
      length: 8,
      method: 'crc',
      width: 8,
      poly: '0x2F',
      init: '0xFF',
      xorout: '0xFF',
      covers: [0, 1, 2, 3, 4, 5, 6],
    }),
  ],
});
const cells = aFrame({
  id: '0x1A1',
  name: 'cells',
  timing: { kind: 'periodic', periodMs: 50, jitterMs: 0.2 },
  selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })],
  signals: [0, 1, 2].map((page) =>
    aSignal({
      name: `cell_${page}`,
      lsb: { byte: 1, bit: 0 },
      length: 12,
      scale: 0.001,
      when: { page: [page] },
      observed: { min: 3.2, max: 4 },
    }),
  ),
});
const map = aMap([status, cells], { requires: ['when'] });

interface Wish {
  readonly seconds?: number;
  readonly lose?: (index: number) => boolean;
  readonly still?: boolean;
}

/** A minute of the two frames by the true layout, 10 and 50 ms, with the jitter of a bus. */
function recording({ seconds = 60, lose = () => false, still = false }: Wish = {}): FrameTable {
  const random = createRandom('winch');
  const [first, second] = [compileEncoder(status), compileEncoder(cells)];
  const frames: PlainFrame[] = [];
  for (let tick = 0; tick < seconds * 100; tick++) {
    const payload = new Uint8Array(8);
    const speed = still ? 0 : 1900 + 2000 * Math.sin(tick / 300);
    first.signal('speed')?.writePhysical(speed, payload, 0);
    first.signal('state')?.write(still ? 1 : Math.floor(tick / 500) % 3, payload, 0);
    first.writeCounter('alive', tick % 15, payload);
    first.writeChecksums(payload, 0, 8);
    if (!lose(tick)) frames.push({ timeUs: tick * 10_000 + random.below(300), bus: 'can0', id: 0x1a0, data: payload });
    if (tick % 5 > 0) continue;
    const page = (tick / 5) % 3;
    const other = new Uint8Array(8);
    second.writeSelector('page', page, other);
    second
      .signal(`cell_${page}`)
      ?.writePhysical(3.6 + 0.2 * Math.sin(tick / 500 + page) + 0.001 * random.below(3), other, 0);
    frames.push({ timeUs: tick * 10_000 + 400 + random.below(300), bus: 'can0', id: 0x1a1, data: other });
  }
  return buildTable(frames);
}

const drive = recording();
const changed = (frame: MapFrame, part: Partial<MapFrame>): SignalMap =>
  aMap(
    map.frames.map((f) => (f === frame ? { ...f, ...part } : f)),
    { requires: ['when'] },
  );

async function items(of: SignalMap, table: FrameTable = drive): Promise<Record<string, ProofItem>> {
  const { frames } = await proveMap({ table, map: of });
  return Object.fromEntries(frames.flatMap((f) => f.items.map((i) => [`${f.name} ${i.item} ${i.name}`, i])));
}
const failing = async (of: SignalMap, table?: FrameTable): Promise<string[]> =>
  Object.entries(await items(of, table))
    .filter(([, i]) => i.verdict === 'fails')
    .map(([key]) => key);

describe('a true map', () => {
  it('has nothing refused, and what never moved is not called held', async () => {
    const all = await items(map);
    expect(Object.values(all).filter(({ verdict }) => verdict === 'fails')).toEqual([]);
    expect(all['winch_status signal spare']?.verdict).toBe('not-exercised');
    const held = Object.entries(all)
      .filter(([, { verdict }]) => verdict === 'holds')
      .map(([key]) => key);
    expect(held).toHaveLength(Object.keys(all).length - 1);
    expect(all['winch_status counter alive']).toMatchObject({ rate: 1, n: 5999 });
  });

  it('survives frames that the logger lost', async () => {
    const random = createRandom('lost');
    const lost = new Set(Array.from({ length: 60 }, () => random.below(6000)));
    const all = await items(map, recording({ lose: (index) => lost.has(index) }));
    expect(Object.values(all).filter(({ verdict }) => verdict === 'fails')).toEqual([]);
    expect(all['winch_status counter alive']?.detail).toContain('frames lost by the log');
  });

  it('is not called held by a recording in which nothing happens', async () => {
    const all = await items(map, recording({ still: true }));
    expect(all['winch_status signal speed']?.verdict).toBe('not-exercised');
    expect(all['winch_status signal state']?.verdict).toBe('not-exercised');
  });

  it('finds its frames on whichever bus they are', async () => {
    const frames: PlainFrame[] = [];
    for (const s of drive.streams) {
      for (let row = 0; row < s.count; row++) {
        frames.push({
          timeUs: s.timeUs[row] as number,
          bus: 'right',
          id: s.id,
          data: s.payload.subarray(row * 8, row * 8 + 8),
        });
      }
    }
    frames.push({ timeUs: 1, bus: 'can0', id: 0x700, data: [1] });
    const report = await proveMap({ table: buildTable(frames), map });
    expect(report.buses).toEqual({ can0: 'right' });
    expect(report.frames.map(({ verdict }) => verdict)).toEqual(['holds', 'holds']);
  });
});

describe('a planted fault is refused, and nothing else', () => {
  const [counter] = status.counters;
  const [checksum] = status.checksums;
  const [speed, state] = status.signals;
  if (!counter || !checksum || !speed || !state) throw new Error('the map lost its parts');
  it.each<[string, SignalMap, string[]]>([
    ['period', changed(cells, { timing: { ...cells.timing, periodMs: 60 } }), ['cells timing cells']],
    ['length', changed(status, { length: 7, checksums: [], signals: [state] }), ['winch_status length winch_status']],
    [
      'polynomial',
      changed(status, { checksums: [{ ...checksum, poly: '0x1D' }] }),
      ['winch_status checksum crc at byte 7 bit 0, 8 bits'],
    ],
    ['counter too short', changed(status, { counters: [{ ...counter, max: 13 }] }), ['winch_status counter alive']],
    ['counter too long', changed(status, { counters: [{ ...counter, max: 15 }] }), ['winch_status counter alive']],
    ['counter step', changed(status, { counters: [{ ...counter, step: 2 }] }), ['winch_status counter alive']],
    [
      'byte order',
      changed(status, { signals: [{ ...speed, lsb: { byte: 0, bit: 0 }, order: 'little' }] }),
      ['winch_status signal speed'],
    ],
    [
      'a state forgotten',
      changed(status, { signals: [{ ...state, states: { '0': 'off', '1': 'ready' } }] }),
      ['winch_status signal state'],
    ],
    ['a page forgotten', changed(cells, { signals: cells.signals.slice(0, 2) }), ['cells selector page']],
  ])('%s', async (_title, faulty, refused) => {
    expect(await failing(faulty)).toEqual(refused);
  });

  it('a sign forgotten', async () => {
    const unsigned = changed(status, { signals: [{ ...speed, coding: 'unsigned' }] });
    expect(await failing(unsigned)).toEqual(['winch_status signal speed']);
  });

  it('but not a drive that goes further, whose scale or range only a reference can tell', async () => {
    const tighter = changed(status, { signals: [{ ...speed, observed: { min: 0, max: 1000 } }] });
    const item = (await items(tighter))['winch_status signal speed'];
    expect(item?.aspects?.map(({ aspect, verdict }) => [aspect, verdict])).toEqual([
      ['place', 'holds'],
      ['values', 'not-exercised'],
    ]);
    expect(item?.detail).toContain('a reference must decide');
  });

  it('nor a temperature of a warmer day', async () => {
    const narrow = changed(status, { signals: [{ ...speed, observed: { min: 1000, max: 1001 } }] });
    expect(await failing(narrow)).toEqual([]);
  });

  it('a periodic frame that is not there', async () => {
    const ghost = aFrame({ id: '0x1A2', name: 'ghost' });
    expect(await failing(aMap([status, ghost]))).toEqual(['ghost presence ghost']);
    const rare = { ...ghost, timing: { kind: 'on-change' as const, periodMs: null, jitterMs: null } };
    expect((await items(aMap([status, rare])))['ghost presence ghost']?.verdict).toBe('not-exercised');
  });

  it('gives the moments', async () => {
    const broken = recording({ lose: (index) => index === 100 });
    const stream = broken.streams.find(({ id }) => id === 0x1a0);
    if (!stream) throw new Error('no stream');
    stream.payload[500 * 8 + 7] = (stream.payload[500 * 8 + 7] as number) ^ 1;
    const { moments } = (await items(map, broken))['winch_status checksum crc at byte 7 bit 0, 8 bits'] as ProofItem;
    expect(moments).toHaveLength(1);
    expect(moments[0]).toBeCloseTo(5.01, 2);
  });

  it('says when the map was made from the very recording', async () => {
    const made = aMap([status], {
      captures: [{ id: 'c1', title: '', files: [{ name: 'a', bytes: 1, sha256: 'ab12' }] }],
    });
    const { warnings } = await proveMap({ table: drive, map: made, fileDigests: ['ab12'] });
    expect(warnings.map(({ code }) => code)).toEqual(['map-made-from-this-capture']);
  });
});

describe('a long counter that turns a few times', () => {
  const counter = aCounter({ lsb: { byte: 0, bit: 0 }, length: 8, step: 2, max: 255 });
  const frame = aFrame({ id: '0x1A2', name: 'horn', length: 1, counters: [counter] });
  /** A minute of a counter by twos, every 82 ms: five turns and a half. */
  const table = buildTable(
    Array.from({ length: 700 }, (_, k) => ({
      bus: 'can0',
      id: 0x1a2,
      timeUs: 82_000 * k,
      data: Uint8Array.of((2 * k) % 256),
    })),
  );
  const verdictOf = async (rule: typeof counter): Promise<string | undefined> => {
    const { frames } = await proveMap({ table, map: aMap([{ ...frame, counters: [rule] }]) });
    return frames[0]?.items.find(({ item }) => item === 'counter')?.verdict;
  };

  it('holds by its rule; by one that turns elsewhere it breaks alike at each turn, however few breaks these are', async () => {
    expect(await verdictOf(counter)).toBe('holds');
    expect(await verdictOf({ ...counter, max: 254 })).toBe('fails');
  });
});

describe('a counter of a frame that is sent now and then, so that any skip may be frames lost', () => {
  const counter = aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, max: 14 });
  const frame = aFrame({ id: '0x1A3', name: 'hatch', length: 1, counters: [counter] });
  const verdictOf = async (rule: typeof counter, lose: (k: number) => boolean): Promise<string | undefined> => {
    const random = createRandom('hatch');
    let timeUs = 0;
    const frames: PlainFrame[] = [];
    for (let k = 0; k < 105; k++) {
      timeUs += Math.round(1e5 * (0.3 + 8 * random.next()));
      if (!lose(k)) frames.push({ bus: 'can0', id: 0x1a3, timeUs, data: Uint8Array.of(k % 15) });
    }
    const proof = await proveMap({ table: buildTable(frames), map: aMap([{ ...frame, counters: [rule] }]) });
    return proof.frames[0]?.items.find(({ item }) => item === 'counter')?.verdict;
  };

  it('is refused where the map counts on to a value that never comes in seven turns', async () => {
    expect(await verdictOf(counter, () => false)).not.toBe('fails');
    expect(await verdictOf({ ...counter, max: 15 }, () => false)).toBe('fails');
  });

  it('but not where a log that loses half of all frames may have lost just those', async () => {
    const random = createRandom('losing');
    const lost = Array.from({ length: 105 }, () => random.next() < 0.5);
    expect(await verdictOf(counter, (k) => lost[k] === true || k % 15 === 7)).not.toBe('fails');
  });
});

describe('the period of a frame that another capture shows on changes only', () => {
  it('is not refused by the intervals between these', async () => {
    const random = createRandom('on changes');
    let timeUs = 0;
    const frames = Array.from({ length: 120 }, (_, k): PlainFrame => {
      timeUs += Math.round(1e4 + 8e5 * random.next() ** 3);
      return { bus: 'can0', id: 0x1a4, timeUs, data: Uint8Array.of(k % 2 === 0 ? 3 : random.below(200)) };
    });
    const timing = { kind: 'periodic', periodMs: 1000, jitterMs: 0.7 } as const;
    const proof = await proveMap({
      table: buildTable(frames),
      map: aMap([aFrame({ id: '0x1A4', name: 'gate', length: 1, timing })]),
    });
    const item = proof.frames[0]?.items.find(({ item: kind }) => kind === 'timing');
    expect(item).toMatchObject({ verdict: 'not-exercised' });
  });
});
