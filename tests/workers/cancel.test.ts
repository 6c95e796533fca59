/** Cancelling really ends the work: reading stops at its next slice, a busy compute thread is ended though it hears nothing. */
import { Worker } from 'node:worker_threads';
import * as Comlink from 'comlink';
import { afterEach, describe, expect, it } from 'vitest';
import { buildTable } from '../../src/frames/build-table.ts';
import { memorySource } from '../../src/frames/source.ts';
import type { FrameTable } from '../../src/frames/table.ts';
import { createStopSource } from '../../src/jobs/stop.ts';
import { runAnalysis } from '../../src/jobs/run-analysis.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { ComputeHost } from '../../workers/compute-host.ts';
import { endpointOf } from '../../workers/endpoint.node.ts';
import { createPool, type ComputeThread } from '../../workers/pool.ts';
import { createThreadedEngine } from '../../workers/threaded-engine.node.ts';

function logBytes(frames: number): Uint8Array {
  const lines = Array.from(
    { length: 1000 },
    (_, i) => `(${(i * 0.001).toFixed(6)}) can0 1F4#00${(i & 255).toString(16).padStart(2, '0')}`,
  );
  const block = new TextEncoder().encode(lines.join('\n') + '\n');
  const bytes = new Uint8Array(block.length * Math.ceil(frames / 1000));
  for (let at = 0; at < bytes.length; at += block.length) bytes.set(block, at);
  return bytes;
}

/** Identifiers whose every bit races: the dearest for any finder. */
function busyTable(identifiers: number, frames: number): FrameTable {
  const random = createRandom('busy');
  const all = [];
  for (let i = 0; i < frames; i++) {
    for (let id = 0; id < identifiers; id++) {
      all.push({
        timeUs: i * 10_000 + id,
        bus: 'can0',
        id: 0x100 + id,
        data: Array.from({ length: 8 }, () => random.below(256)),
      });
    }
  }
  return buildTable(all);
}

interface Watched {
  readonly spawn: () => ComputeThread;
  readonly exits: Promise<number>[];
}

/** Starts real compute threads and remembers when each of them ends. */
function watched(): Watched {
  const exits: Promise<number>[] = [];
  const spawn = (): ComputeThread => {
    const worker = new Worker(new URL('../../workers/compute.node.mjs', import.meta.url));
    exits.push(new Promise((resolve) => worker.once('exit', resolve)));
    return {
      remote: Comlink.wrap<ComputeHost>(endpointOf(worker)),
      onFailure: (tell) => void worker.once('error', tell),
      end: () => void worker.terminate(),
    };
  };
  return { spawn, exits };
}

describe('a long job', () => {
  it('ends its threads and rejects when it is stopped, though they are in the middle of a sum', async () => {
    const { spawn, exits } = watched();
    const stop = createStopSource();
    let told = 0;
    const work = runAnalysis(
      busyTable(6, 20_000),
      'fields',
      { job: 'fields', streams: 'all', options: {} },
      createPool(spawn, 2),
      { signal: stop.signal, onProgress: () => (told += 1) },
    );
    while (told === 0) await new Promise((resolve) => setTimeout(resolve, 5));
    expect(exits).toHaveLength(2);
    stop.stop();
    await expect(work).rejects.toThrow('stopped on request');
    expect(await Promise.all(exits)).toEqual([1, 1]);
  });

  it('ends its threads when it is done, too', async () => {
    const { spawn, exits } = watched();
    await runAnalysis(
      busyTable(2, 40),
      'fields',
      { job: 'fields', streams: 'all', options: {} },
      createPool(spawn, 2),
      {},
    );
    expect(await Promise.all(exits)).toEqual([1, 1]);
  });

  it('a thread that dies fails the job with its reason, and hangs nothing', async () => {
    const dying = (): ComputeThread => {
      const worker = new Worker('throw new Error("no memory left")', { eval: true });
      return {
        remote: Comlink.wrap<ComputeHost>(endpointOf(worker)),
        onFailure: (tell) => void worker.once('error', tell),
        end: () => void worker.terminate(),
      };
    };
    const request = { job: 'fields', streams: 'all', options: {} };
    await expect(runAnalysis(busyTable(1, 40), 'fields', request, createPool(dying, 1), {})).rejects.toThrow(
      'no memory left',
    );
  });
});

describe('reading', () => {
  const engines = [createThreadedEngine()];
  afterEach(async () => {
    for (const engine of engines) await engine.close();
  });

  it('stops when asked, and the engine reads the next capture as if nothing had been', async () => {
    const [engine] = engines as [ReturnType<typeof createThreadedEngine>];
    const stop = new AbortController();
    const bytes = logBytes(4_000_000);
    let frames = 0;
    const opening = engine.open(
      [{ source: memorySource('long.log', bytes) }],
      {},
      (progress) => {
        frames = progress.frames;
        if (frames > 0) stop.abort();
      },
      { signal: stop.signal },
    );
    await expect(opening).rejects.toMatchObject({ name: 'Cancelled' });
    expect(frames).toBeGreaterThan(0);
    expect(frames).toBeLessThan(4_000_000);
    const next = await engine.open([{ source: memorySource('short.log', logBytes(1000)) }], {});
    expect(next).toMatchObject({ ok: true, value: { frames: 1000 } });
    // The stopped reading must not have come to its end behind our back and taken the new one's place.
    expect((await engine.survey({})).capture.frames).toBe(1000);
  });

  it('a job that is stopped before it starts does not start', async () => {
    const engine = createThreadedEngine();
    engines.push(engine);
    const stop = new AbortController();
    stop.abort();
    await expect(engine.open([], {}, undefined, { signal: stop.signal })).rejects.toMatchObject({ name: 'Cancelled' });
  });
});
