/**
 * The worker is thin: whatever is asked of the engine in a thread is answered exactly as by the engine in place. Real threads,
 * started as the command line starts them.
 */
import { afterEach, describe, expect, it } from 'vitest';
import { memorySource } from '../../src/frames/source.ts';
import type { Engine } from '../../src/jobs/engine-types.ts';
import { createInlineEngine } from '../../src/jobs/engine.ts';
import { compareProfiles } from '../../src/proof/compare/compare-profiles.ts';
import { createRandom } from '../../src/kit/random.ts';
import { aChecksum, aCounter } from '../support/map-parts.ts';
import { createThreadedEngine } from '../../workers/threaded-engine.node.ts';

/** Log lines of three identifiers, one with a counter and a slow value. Seeded. */
function logText(frames: number): string {
  const random = createRandom('threaded engine');
  const lines: string[] = [];
  let slow = 500;
  for (let i = 0; i < frames; i++) {
    const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');
    const time = (1700000000 + i * 0.01 + random.next() * 0.0004).toFixed(6);
    slow += random.below(9) - 4;
    lines.push(`(${time}) can0 1F4#${hex(slow & 0xffff, 4)}${hex(i & 15, 2)}00`);
    if (i % 2 === 0) lines.push(`(${time}) can0 2A0#${hex(random.below(256), 2)}FF`);
    if (i % 10 === 0) lines.push(`(${time}) can1 18FEF100#${hex(i & 0xff, 2)}`);
  }
  return lines.join('\n') + '\n';
}

const source = (frames: number) => memorySource('threads.log', new TextEncoder().encode(logText(frames)));
const wheel = { bus: 'can0', id: 0x1f4, extended: false, direction: 'received' } as const;
const alive = aCounter({ lsb: { byte: 2, bit: 0 }, length: 4 });
const parity = aChecksum({ lsb: { byte: 3, bit: 0 }, length: 8, method: 'xor', covers: [0, 1] });
const rates = { can0: { bitrate: 500000, dataBitrate: null } };

describe('the engine in a thread', () => {
  const opened: Engine[] = [];
  const start = (): Engine => {
    const engine = createThreadedEngine();
    opened.push(engine);
    return engine;
  };
  afterEach(async () => {
    for (const engine of opened.splice(0)) await engine.close();
  });

  it('answers every question as the engine in place does', async () => {
    const inPlace = createInlineEngine();
    const threaded = start();
    const seen: number[] = [];
    const summary = await inPlace.open([{ source: source(6000) }], {});
    const threadedSummary = await threaded.open([{ source: source(6000) }], {}, (progress) =>
      seen.push(progress.frames),
    );
    expect(summary.ok).toBe(true);
    expect(threadedSummary).toEqual(summary);
    expect(seen.length).toBeGreaterThan(0);

    const [a, b] = await Promise.all([inPlace.profile(), inPlace.profile({}, { fromS: 10, toS: 30 })]);
    const compare = { job: 'compare', a, b } as const;
    expect(await threaded.analyse<'compare'>(compare)).toEqual(compareProfiles(a, b));
    const window = { fromS: 3, toS: 40, columns: 97 };
    const request = {
      stream: wheel,
      placement: { lsb: { byte: 1, bit: 0 }, length: 16, order: 'big' },
      coding: 'signed',
      scale: 0.5,
    } as const;
    const questions: ((engine: Engine) => Promise<unknown>)[] = [
      (engine) => engine.survey(rates),
      (engine) => engine.survey({}, { fromS: 5, toS: 9 }),
      (engine) => engine.drift(),
      (engine) => engine.drift({ fromS: 5, toS: 9 }),
      (engine) => engine.profile(),
      (engine) => engine.profile(rates, { fromS: 5, toS: 9 }),
      (engine) => engine.overview(window),
      (engine) => engine.load(window, rates),
      (engine) => engine.weave(wheel, window),
      (engine) => engine.traces([request], window),
      (engine) => engine.valuesAt([request, { ...request, coding: 'unsigned' }], 12.345),
      (engine) => engine.payloadAt(wheel, 12.345),
      (engine) => engine.guardCheck(wheel, { guard: 'counter', rule: alive, around: { selectors: [] } }),
      (engine) =>
        engine.guardCheck(wheel, { guard: 'checksum', rule: parity, around: { counters: [], selectors: [] } }),
      (engine) =>
        engine.repetitions(request, [{ action: 'turned', startS: 4, endS: null }], {
          beforeS: 1,
          afterS: 2,
          columns: 30,
        }),
      (engine) => engine.analyse({ job: 'fields', streams: 'all', options: {} }),
    ];
    for (const ask of questions) expect(await ask(threaded)).toEqual(await ask(inPlace));
  });

  it('gives the fields of one identifier at a time, then all in the order of the table', async () => {
    const engine = start();
    await engine.open([{ source: source(3000) }], {});
    const parts: string[] = [];
    const shares: number[] = [];
    const all = await engine.analyse(
      { job: 'fields', streams: 'all', options: {} },
      { onProgress: ({ share }) => shares.push(share) },
      (findings) => parts.push(...findings.map((finding) => finding.id)),
    );
    expect([...parts].sort()).toEqual(['0x18FEF100', '0x1F4', '0x2A0']);
    expect(all.map((finding) => finding.id)).toEqual(['0x1F4', '0x2A0', '0x18FEF100']);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
  });

  it('says which stream it lacks, by rejecting the question and staying alive', async () => {
    const engine = start();
    await engine.open([{ source: source(100) }], {});
    await expect(engine.weave({ ...wheel, id: 0x7 }, { fromS: 0, toS: 1, columns: 4 })).rejects.toThrow('can0/0x7');
    expect((await engine.payloadAt(wheel, 0))?.payload).toMatch(/^[0-9A-F]{2}( [0-9A-F]{2}){3}$/);
  });
});
