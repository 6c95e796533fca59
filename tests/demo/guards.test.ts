import { describe, expect, it } from 'vitest';
import type { TrueFrame } from '../../src/demo/true-frame.ts';
import { rawColumn } from '../../src/frames/bits.ts';
import { findStream, type Stream } from '../../src/frames/table.ts';
import { verifyChecksum } from '../../src/map/checksum.ts';
import { PROFILE_NAMES, postVanSample, profileSample, type Sample } from './drives.ts';

const SEEDS = [1, 2];

function streamOf({ table }: Sample, frame: TrueFrame): Stream | undefined {
  const { id, extended, map } = frame;
  return findStream(table, { bus: map.bus, id, extended, direction: 'received' });
}

function failuresOf(sample: Sample): { checked: number; failed: string[] } {
  let checked = 0;
  const failed: string[] = [];
  for (const frame of sample.vehicle.frames) {
    const stream = streamOf(sample, frame);
    if (!stream) continue;
    for (const checksum of frame.map.checksums) {
      if (checksum.method === 'mac' || checksum.method === 'unsolved') continue;
      const verified = verifyChecksum(checksum, frame.map, stream);
      checked += verified?.checked ?? 0;
      const apply = checksum.when === null ? stream.count : (verified?.checked ?? 0);
      if (!verified || verified.checked === 0 || verified.passed !== apply)
        failed.push(`${frame.map.name}: ${verified?.passed} of ${stream.count}`);
    }
  }
  return { checked, failed };
}

interface Timed {
  readonly raws: readonly number[];
  readonly timeUs: readonly number[];
}

/** Values of a counter in the frames of its pages. */
function rawsOnPage(frame: TrueFrame, counter: TrueFrame['map']['counters'][number], stream: Stream): Timed {
  const raws = rawColumn(stream, counter);
  const selector = frame.map.selectors[0];
  const pages = selector ? rawColumn(stream, selector) : null;
  const wanted = counter.when?.['page'];
  const rows = Array.from(raws.keys()).filter((row) => !wanted || wanted.includes(pages?.[row] as number));
  return { raws: rows.map((row) => raws[row] as number), timeUs: rows.map((row) => stream.timeUs[row] as number) };
}

/** Breaks of a counter, not counting the restarts after sleep (a silence of more than half a second). */
function breaksOf(frame: TrueFrame, stream: Stream): number {
  let breaks = 0;
  for (const counter of frame.map.counters) {
    const { raws, timeUs } = rawsOnPage(frame, counter, stream);
    const turn = counter.max - counter.min + 1;
    let held = 1;
    for (let row = 1; row < raws.length; row++) {
      const [before, now] = [raws[row - 1] as number, raws[row] as number];
      const silenceUs = (timeUs[row] as number) - (timeUs[row - 1] as number);
      const rested = silenceUs > 5e5 + 1500 * frame.periodMs * Math.max(1, frame.pages.length);
      const stays = held < counter.every;
      const expected = stays ? before : counter.min + ((((before - counter.min + counter.step) % turn) + turn) % turn);
      if (!rested && now !== expected) breaks++;
      held = rested || !stays ? 1 : held + 1;
    }
  }
  return breaks;
}

describe('guards of the simulated vehicles', () => {
  it('checksums hold in every frame: post van', () => {
    const { checked, failed } = failuresOf(postVanSample());
    expect(failed).toEqual([]);
    expect(checked).toBeGreaterThan(40_000);
  });

  it.each(PROFILE_NAMES.flatMap((profile) => SEEDS.map((seed) => [profile, seed] as const)))(
    'checksums hold in every frame: profile %s, seed %i',
    (profile, seed) => {
      expect(failuresOf(profileSample(profile, seed)).failed).toEqual([]);
    },
  );

  it('counters step by their rule where nothing was lost', () => {
    for (const sample of [
      postVanSample(),
      profileSample('guarded', 1),
      profileSample('guarded', 2),
      profileSample('fd', 2),
    ]) {
      const broken = sample.vehicle.frames.flatMap((frame) => {
        const stream = streamOf(sample, frame);
        const breaks = stream ? breaksOf(frame, stream) : 0;
        return breaks > 0 ? [`${frame.map.name}: ${breaks}`] : [];
      });
      expect(broken).toEqual([]);
    }
  });

  it('a keyed tag differs for the same content, an odd one does not', () => {
    const tags = new Map<string, Set<number>>();
    const kinds = new Map<string, string>();
    for (const seed of [1, 2, 3]) {
      const sample = profileSample('guarded', seed);
      for (const frame of sample.vehicle.frames) {
        const stream = streamOf(sample, frame);
        if (!stream || !frame.tag || frame.copyOf !== null) continue;
        const { piece, kind } = frame.tag;
        const tag = rawColumn(stream, piece);
        for (let row = 0; row < stream.count; row++) {
          const content = [...stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride)].filter(
            (_, byte) => byte !== piece.lsb.byte,
          );
          const name = `${seed} ${frame.map.id} ${content.join(' ')}`;
          kinds.set(name, kind);
          const seen = tags.get(name) ?? new Set<number>();
          tags.set(name, seen.add(tag[row] as number));
        }
      }
    }
    const several = (kind: string): number =>
      [...tags].filter(([name, seen]) => kinds.get(name) === kind && seen.size > 1).length;
    expect(several('keyed')).toBeGreaterThan(50);
    expect(several('odd')).toBe(0);
    expect([...kinds.values()].filter((kind) => kind === 'odd').length).toBeGreaterThan(50);
  });
});
