/**
 * Scorecard of the marks' clock over machines of the evidence simulator: is drift told where a person's clock drifts and nowhere else, and do three quick presses as the recording
 * begins give the offset where there are too few marks else? Nothing may be recognised where none was tapped, nor where no field shows them.
 */
import { describe, expect, it } from 'vitest';
import { roughClock } from '../../src/actions/clock.ts';
import { linkFields } from '../../src/actions/link.ts';
import { markedTaps, syncTaps } from '../../src/actions/taps.ts';
import type { LinkReport, MarkFile } from '../../src/actions/types.ts';
import { candidatesOf } from '../../src/map/proposed-fields.ts';
import { makeEvidenceVehicle, type EvidenceVehicle, type EvidenceWish } from './evidence/make-evidence.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const drifts = seedsFor('links drift', asked ? 12 : 2);
const tapped = seedsFor('links taps', asked ? 14 : 4);

const linked = ({ table, trueFindings: findings }: EvidenceVehicle, marks: MarkFile): Promise<LinkReport> =>
  linkFields({ table, findings, marks, offset: 'auto', seed: 1, unsureShown: 0 }, {});

describe(`drift of the marks' clock on ${drifts.seeds.length} machines with and as many without, seeds from ${drifts.base}`, () => {
  it('is told where there is some, and nowhere else', { timeout: 3_600_000 }, async () => {
    const score = { planted: 0, told: 0, strong: 0, strongTold: 0, near: 0, steady: 0, untrue: 0 };
    for (const seed of drifts.seeds)
      for (const marksClock of ['drifting', 'seconds'] as const) {
        const vehicle = makeEvidenceVehicle(seed, { marksClock, recording: 'drive' } satisfies EvidenceWish);
        const { drift } = (await linked(vehicle, vehicle.marks)).clock;
        const truePpm = vehicle.truth.marksDriftPpm;
        if (process.env['LOOMSCRIBE_SHOW_WRONG'])
          console.log(
            `drift ${truePpm.toFixed(0)} told ${drift ? `${drift.ppm.toFixed(0)} ± ${drift.sePpm.toFixed(0)}` : 'none'}`,
          );
        if (marksClock === 'seconds') {
          score.steady++;
          if (drift) score.untrue++;
          continue;
        }
        score.planted++;
        if (Math.abs(truePpm) >= 600) score.strong++;
        if (!drift) continue;
        score.told++;
        if (Math.abs(truePpm) >= 600) score.strongTold++;
        if (Math.abs(drift.ppm - truePpm) <= 2.5 * drift.sePpm) score.near++;
      }
    const { planted, told, strong, strongTold, near, steady, untrue } = score;
    console.log(
      `drift: told ${told} of ${planted} planted (200 to 1500 millionths over 170 s), ${strongTold} of ${strong} of 600 and more, ` +
        `${near} of ${told} within 2.5 of its errors; ${untrue} of ${steady} without`,
    );
    expect(strongTold / Math.max(1, strong)).toBeGreaterThanOrEqual(0.75);
    expect(untrue / steady).toBeLessThanOrEqual(0.1);
  });
});

/** The taps, and the first mark of each other action: too few to agree. */
function fewMarks({ marks, timeBase }: MarkFile): MarkFile {
  const taps = markedTaps(marks).flatMap(({ atS }) => atS);
  const seen = new Set<string>();
  const few = marks.filter(({ action, startS }) => {
    if (action === 'brake') return taps.includes(startS);
    const isFirst = !seen.has(action);
    seen.add(action);
    return isFirst;
  });
  return { marks: few, timeBase };
}

describe(`three quick presses on ${tapped.seeds.length} machines with and as many without, seeds from ${tapped.base}`, () => {
  it('give the offset by themselves, and are seen nowhere else', { timeout: 3_600_000 }, async () => {
    const score = {
      marked: 0,
      seen: 0,
      near: 0,
      fewFound: 0,
      fewNear: 0,
      plainFound: 0,
      without: 0,
      unseen: 0,
      untrue: 0,
    };
    const zs: number[] = [];
    for (const seed of tapped.seeds) {
      const vehicle = makeEvidenceVehicle(seed, { syncTaps: true, marksClock: 'seconds' });
      const { table, trueFindings, truth } = vehicle;
      const rough = roughClock(vehicle.marks, table.origin, table.endUs / 1e6);
      const bare = makeEvidenceVehicle(seed, { syncTaps: false, marksClock: 'seconds' });
      const bareRough = roughClock(bare.marks, bare.table.origin, bare.table.endUs / 1e6);
      score.without++;
      score.untrue += syncTaps(
        bareRough.marks,
        candidatesOf(bare.table, bare.trueFindings),
        bareRough.searchS,
        bare.table.endUs / 1e6,
      ).length;
      if (markedTaps(rough.marks).length === 0) continue;
      score.marked++;
      const shows = truth.fields.filter(({ quantity }) => quantity.startsWith('brake'));
      const isShown = (bus: string, id: string, name: string): boolean =>
        shows.some((field) => field.bus === bus && field.id === id && field.field === name);
      const blind = trueFindings.map((frame) => ({
        ...frame,
        fields: frame.fields.filter(({ name }) => !isShown(frame.bus, frame.id, name)),
      }));
      score.unseen++;
      score.untrue += syncTaps(rough.marks, candidatesOf(table, blind), rough.searchS, table.endUs / 1e6).length;
      const [taps] = syncTaps(rough.marks, candidatesOf(table, trueFindings), rough.searchS, table.endUs / 1e6);
      if (taps) {
        const errorS = taps.offsetS + rough.addedS - truth.marksOffsetS;
        score.seen++;
        zs.push(errorS / taps.seS);
        if (Math.abs(errorS) <= 0.25) score.near++;
      }
      const few = fewMarks(vehicle.marks);
      const { clock } = await linked(vehicle, few);
      if (clock.from === 'found') score.fewFound++;
      if (clock.from === 'found' && Math.abs(clock.offsetS - truth.marksOffsetS) <= 0.25) score.fewNear++;
      const plain = { ...few, marks: few.marks.filter(({ action }) => action !== 'brake') };
      if ((await linked(vehicle, plain)).clock.from === 'found') score.plainFound++;
    }
    const { marked, seen, near, fewFound, fewNear, plainFound, without, unseen, untrue } = score;
    const spread = Math.sqrt(zs.reduce((sum, z) => sum + z * z, 0) / Math.max(1, zs.length));
    console.log(
      `quick presses: seen ${seen} of ${marked} marked thrice, ${near} within 0.25 s, errors ${spread.toFixed(2)} of what is said of them; ` +
        `with one mark of each other action the offset is found on ${fewFound} (${fewNear} within 0.25 s), without the presses on ${plainFound}; ` +
        `seen ${untrue} times on ${without} without and ${unseen} that show none`,
    );
    expect(seen / marked).toBeGreaterThanOrEqual(0.75);
    expect(near).toBe(seen);
    expect(untrue / (without + unseen)).toBeLessThanOrEqual(0.05);
  });
});
