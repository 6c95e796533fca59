/** The parts around the questions: what is kept, how a job's parts are run and joined, keys of findings. */
import { describe, expect, it } from 'vitest';
import { buildTable } from '../../src/frames/build-table.ts';
import type { FileReport } from '../../src/frames/table.ts';
import { canonicalJson, captureDigest, digestText, findingsKey } from '../../src/jobs/digest.ts';
import { createInlineEngine } from '../../src/jobs/engine.ts';
import { createKept } from '../../src/jobs/kept.ts';
import { buffersOf, copyStream, copyTable } from '../../src/jobs/post.ts';
import { runAnalysis, type PartRunner } from '../../src/jobs/run-analysis.ts';
import { createStopSource, onStop } from '../../src/jobs/stop.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { sliceStream } from '../../src/frames/pictures/span.ts';

const table = buildTable(
  Array.from({ length: 300 }, (_, i) => ({
    timeUs: i * 10_000,
    bus: 'can0',
    id: 0x100 + (i % 3 === 0 ? 0 : i % 2),
    data: [i & 255, 7],
  })),
);
const [first, second] = table.streams as [(typeof table.streams)[0], (typeof table.streams)[0]];

describe('the engine', () => {
  it('refuses questions while no capture is open, and again once it is closed', async () => {
    const engine = createInlineEngine();
    await expect(engine.survey({})).rejects.toThrow('no capture is open');
    engine.adopt(table);
    expect(engine.table).toBe(table);
    expect((await engine.survey({})).capture.frames).toBe(300);
    await engine.close();
    expect(engine.table).toBeNull();
    await expect(engine.survey({})).rejects.toThrow('no capture is open');
  });

  it('tells the payload of the last frame at or before an instant', async () => {
    const engine = createInlineEngine();
    engine.adopt(table);
    const key = { bus: 'can0', id: 0x100, extended: false, direction: 'received' } as const;
    expect(await engine.payloadAt(key, 0.0301)).toEqual({ payload: '03 07', atS: 0.03 });
    expect(await engine.payloadAt(key, -1)).toBeNull();
  });

  it('lets messages in between slices, however many questions are open', async () => {
    let breaths = 0;
    const engine = createInlineEngine({
      breathe: async () => {
        breaths++;
      },
    });
    engine.adopt(table);
    const window = { fromS: 0, toS: 3, columns: 10 };
    const [one, two] = await Promise.all([engine.weave(first, window), engine.weave(first, window)]);
    expect(two).toEqual(one);
    expect(breaths).toBeGreaterThan(3);
  });
});

describe('what is kept', () => {
  it('is made once, dropped when the bytes run out, the longest unused first', async () => {
    const made: string[] = [];
    const kept = createKept<string>(10, (text) => text.length);
    const get = (key: string) =>
      kept.get(key, async () => {
        made.push(key);
        return key.repeat(4);
      });
    await Promise.all([get('a'), get('a')]);
    await get('b');
    await get('a');
    await get('c');
    expect(made).toEqual(['a', 'b', 'c']);
    await get('a');
    await get('b');
    expect(made).toEqual(['a', 'b', 'c', 'b']);
  });

  it('what failed is tried again', async () => {
    const kept = createKept<number>(10, () => 1);
    await expect(kept.get('x', () => Promise.reject(new Error('broke')))).rejects.toThrow('broke');
    expect(await kept.get('x', () => Promise.resolve(7))).toBe(7);
  });
});

describe('a job in parts', () => {
  const runner = (breadth: number, log: string[]): PartRunner => ({
    breadth,
    async run(job, _request, part, control) {
      log.push(`${job} ${part.streams.map((s) => s.id.toString(16)).join()}`);
      control.onProgress?.({ share: 0.5, note: 'half' });
      await Promise.resolve();
      const [stream] = part.streams as [(typeof part.streams)[0]];
      const id = '0x' + stream.id.toString(16);
      return [{ bus: 'can0', id, extended: false, direction: 'received', checksums: [], counters: [], fields: [] }];
    },
    end: () => void log.push('ended'),
  });

  it.each([1, 2])(
    'runs small identifiers first, %i at a time, and answers in the order of the table',
    async (breadth) => {
      const log: string[] = [];
      const shares: number[] = [];
      const partial: unknown[] = [];
      const request = { job: 'fields', streams: 'all', options: {} };
      const answer = await runAnalysis(
        table,
        'fields',
        request,
        runner(breadth, log),
        { onProgress: ({ share }) => shares.push(share) },
        (found) => partial.push(found),
      );
      expect(first.count).toBeGreaterThan(second.count);
      expect(log).toEqual(['fields 101', 'fields 100', 'ended']);
      expect((answer as { id: string }[]).map(({ id }) => id)).toEqual(['0x100', '0x101']);
      expect(partial).toHaveLength(2);
      expect(shares).toEqual([...shares].sort((a, b) => a - b));
      expect(shares.at(-1)).toBe(1);
    },
  );

  it('an error in one part ends the others and is told', async () => {
    const log: string[] = [];
    const failing = { ...runner(2, log), run: () => Promise.reject(new Error('broke')) };
    await expect(
      runAnalysis(table, 'fields', { job: 'fields', streams: 'all', options: {} }, failing, {}),
    ).rejects.toThrow('broke');
    expect(log).toEqual(['ended']);
  });

  it('a stop reaches who listens, at once or late', () => {
    const source = createStopSource();
    const heard: string[] = [];
    onStop(source.signal, () => heard.push('listener'));
    onStop(source.signal, () => heard.push('deaf'))();
    source.stop();
    source.stop();
    onStop(source.signal, () => heard.push('late'));
    expect(heard).toEqual(['listener', 'late']);
    expect(source.signal.aborted).toBe(true);
  });
});

describe('what is posted', () => {
  it('owns its buffers, so that no view drags its parent along', async () => {
    const slice = sliceStream(first, 2, 5);
    expect(buffersOf(slice)).toEqual([]);
    const copy = copyStream(slice);
    expect(buffersOf(copy)).toHaveLength(3);
    expect(copy.timeUs).toEqual(slice.timeUs);
    const whole = await copyTable(table);
    expect(buffersOf(whole)).toHaveLength(6);
    expect(whole.streams[1]?.payload).toEqual(second.payload);
  });
});

describe('keys', () => {
  const file = { name: 'a.log', sha256: 'ab' } as FileReport;

  it('sorted keys make equal values equal texts', () => {
    expect(canonicalJson({ b: 1, a: [Float64Array.of(2)], c: undefined })).toBe('{"a":[[2]],"b":1}');
    // Source: FIPS 180-4 example, SHA-256 of "abc".
    expect(digestText('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });

  it('a capture is its files, their buses and how they were read', () => {
    const digest = captureDigest([file], [undefined], {});
    expect(captureDigest([{ ...file, name: 'renamed.log' }], [undefined], {})).toBe(digest);
    expect(captureDigest([file], ['can1'], {})).not.toBe(digest);
    expect(captureDigest([file], [undefined], { zone: '+02:00' })).not.toBe(digest);
  });

  it('findings are kept by capture, job, version and request', () => {
    const request = { job: 'fields', streams: 'all', options: { seed: 1 } } as const;
    expect(findingsKey('d', request)).toMatch(/^fields@\d+\/d\/[0-9a-f]{32}$/);
    expect(findingsKey('d', { ...request, options: { seed: 2 } })).not.toBe(findingsKey('d', request));
  });
});

describe('the survey asked again', () => {
  it('gives the same rows, with the load of the new rates', async () => {
    const engine = createInlineEngine();
    engine.adopt(table);
    const without = await engine.survey({});
    const rated = await engine.survey({ can0: { bitrate: 500_000, dataBitrate: null } });
    expect(rated.frames).toEqual(without.frames);
    expect(rated).toEqual(surveyTable(table, { can0: { bitrate: 500_000, dataBitrate: null } }));
    expect(without.buses[0]?.load).toBeNull();
    const window = { fromS: 0, toS: 3, columns: 1 };
    const { buses } = await engine.load(window, { can0: { bitrate: 500_000, dataBitrate: null } });
    expect(buses[0]?.values[0]).toBeCloseTo(((rated.buses[0]?.load ?? 0) * rated.capture.durationS) / 3, 5);
  });

  it('is the same of a span as of the trimmed table, and so are its modes, with marks heard', async () => {
    const engine = createInlineEngine();
    engine.adopt(table);
    const span = { fromS: 0.5, toS: 2.5 };
    const marks = [{ action: 'plug inserted', startS: 1, endS: null }];
    expect(await engine.survey({}, span)).toEqual(surveyTable(table, {}, span));
    for (const part of [undefined, span]) {
      const told = surveyTable(table, {}, part, marks);
      const { modes, timings } = await engine.modes(marks, part);
      expect(modes).toEqual(told.modes);
      expect(timings).toEqual(told.frames.map(({ timing }) => timing));
    }
  });

  it('load is blank where the whole bus was silent', async () => {
    const stamps = [...Array(200).keys()].map((i) => (i < 100 ? i : i + 400) * 10_000);
    const engine = createInlineEngine();
    engine.adopt(buildTable(stamps.map((timeUs) => ({ timeUs, bus: 'can0', id: 1, data: [0] }))));
    const picture = await engine.load({ fromS: 0, toS: 6, columns: 6 }, {});
    expect([...(picture.buses[0]?.values ?? [])].map((value) => Number.isNaN(value))).toEqual([
      false,
      true,
      true,
      true,
      true,
      false,
    ]);
  });
});
