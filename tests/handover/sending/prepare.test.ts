/**
 * From a capture to bytes, with random marks, maps, releases and spans: whatever comes out lies within a span marked at rest that no pedal mark touches, and is of a frame
 * that was released by name and that the part does not send. The same of the frames of a schedule.
 */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { Mark } from '../../../src/actions/types.ts';
import { FrameBuilder } from '../../../src/frames/builder.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { releasedKeys } from '../../../src/handover/sending/choice.ts';
import { prepareExcerpt, type ExcerptAsked } from '../../../src/handover/sending/prepare.ts';
import { exportSchedule, scheduleFiles } from '../../../src/handover/sending/schedule-export.ts';
import { createRandom, type Random } from '../../../src/kit/random.ts';
import { frameKey, idNumber } from '../../../src/map/identifiers.ts';
import type { MapFrame, SignalMap } from '../../../src/map/schema.ts';
import { excerptJob } from '../../../src/jobs/analyses/excerpt.ts';
import { aChecksum, aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { planned } from '../../support/plan-parts.ts';
import { seen } from './schedule-run.ts';

const ROLES: readonly MapFrame['role'][] = ['sent-by-part', 'needed-by-part', 'needed-by-part', 'other', 'unknown'];
const KINDS = ['periodic', 'periodic', 'on-change', 'mixed', 'reply', 'once'] as const;

function randomMap(random: Random): SignalMap {
  const frames = Array.from({ length: 8 }, (_, i) =>
    aFrame({
      name: `frame ${i}`,
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      role: random.pick(ROLES),
      sender: random.pick([null, { group: random.pick(['A', 'B']), name: '', confidence: 1 }]),
      timing: { kind: random.pick(KINDS), periodMs: random.pick([null, 10, 100]), jitterMs: null },
      rest: {
        payload: '00 00 00 00 00 00 00 00',
        capture: 'c1',
        fromS: 0,
        toS: 1,
        ...(random.next() < 0.8 ? { marked: 'at rest' } : {}),
      },
      signals:
        random.next() < 0.5
          ? [
              aSignal({
                name: random.pick(['contactor_request', 'torque', 'level']),
                lsb: { byte: 0, bit: 0 },
                length: 4,
              }),
            ]
          : [],
      checksums:
        random.next() < 0.3
          ? [
              aChecksum({
                lsb: { byte: 7, bit: 0 },
                length: 8,
                method: random.pick(['mac', 'unsolved', 'xor']),
                covers: [0],
              }),
            ]
          : [],
    }),
  );
  return aMap(frames);
}

function randomTable(random: Random): FrameTable {
  const builder = new FrameBuilder();
  for (let i = 0; i < 400; i++) {
    const slot = builder.slot(builder.busIndex('can0'), 0x100 + random.below(9), false, random.next() < 0.1);
    builder.add(slot, i * 100_000, Uint8Array.of(0, 0, 0, 0, 0, 0, 0, 0), 0, 8, 0);
  }
  return builder.finish({ files: () => [], origin: () => ({ kind: 'epoch', text: '1773042000.000000' }) });
}

function randomMarks(random: Random): Mark[] {
  return Array.from({ length: random.below(7) }, () => {
    const startS = random.between(-2, 38);
    const endS = random.next() < 0.8 ? startS + random.between(0, 15) : null;
    return {
      action: random.pick(['at rest', 'at rest', 'parked', 'brake pressed', 'plug inserted', 'door opened']),
      startS,
      endS,
    };
  });
}

function randomAsked(random: Random): ExcerptAsked {
  const map = randomMap(random);
  const names = map.frames.filter(() => random.next() < 0.5).map(({ name }) => name);
  const kind = random.pick(['log', 'pcapng'] as const);
  const recount = random.next() < 0.5;
  // Names that may be released, as a wrong one refuses everything.
  const release = names.filter((name) => releasedKeys(map, [name], recount ? 'live' : 'as-recorded').ok);
  const fromS = random.between(0, 35);
  const span = random.pick([
    { action: 'at rest', number: null },
    { action: 'parked', number: 1 },
    { fromS, toS: fromS + random.between(0.1, 4) },
  ]);
  return { map, marks: randomMarks(random), span, release, kind, loops: 1, recount, confirm: null };
}

it('whatever was marked, released and asked for (300 captures)', async () => {
  const counts = { written: 0, refused: 0 };
  await fc.assert(
    fc.asyncProperty(fc.nat(), async (seed) => {
      const random = createRandom(seed);
      const table = randomTable(random);
      const asked = randomAsked(random);
      const told = prepareExcerpt(table, asked);
      expect(told.written).toBeNull();
      expect(prepareExcerpt(table, { ...asked, confirm: 'yes' }).written).toBeNull();
      const { written } = prepareExcerpt(table, { ...asked, confirm: told.phrase });
      if (!written) {
        expect(told.problems.length).toBeGreaterThan(0);
        counts.refused++;
        return;
      }
      counts.written++;
      const back = await readCapture([{ source: memorySource('back', written.bytes) }], {}, {});
      if (!back.ok) throw new Error(back.problems[0].message);
      const beginS = Number(back.value.origin.text) - 1_773_042_000;
      const endS = beginS + back.value.endUs / 1e6;
      const covering = asked.marks.filter(
        ({ action, startS, endS: end }) => /rest|parked/.test(action) && startS < beginS && (end ?? startS) > endS,
      );
      expect(covering.length).toBeGreaterThan(0);
      for (const mark of asked.marks.filter(({ action }) => action === 'brake pressed'))
        expect(mark.startS > endS || (mark.endS ?? mark.startS) < beginS).toBe(true);
      // A plug never marked as out stays in.
      for (const mark of asked.marks.filter(({ action }) => action === 'plug inserted'))
        expect(mark.startS > endS || (mark.endS !== null && mark.endS < beginS)).toBe(true);
      for (const { id } of back.value.streams) {
        const frame = asked.map.frames.find((each) => idNumber(each.id) === id) as MapFrame;
        expect(frame.role).not.toBe('sent-by-part');
        expect(asked.release).toContain(frame.name);
        expect(frame.checksums.some(({ method }) => method === 'mac')).toBe(false);
      }
    }),
    { numRuns: 300, seed: 20260 },
  );
  expect(counts.written).toBeGreaterThan(15);
  expect(counts.refused).toBeGreaterThan(100);
}, 60_000);

it('a schedule has no frame that was not released, that the part sends, or whose payload nobody marked (400 maps)', () => {
  let scheduled = 0;
  fc.assert(
    fc.property(fc.nat(), (seed) => {
      const random = createRandom(seed);
      const map = randomMap(random);
      const release = map.frames
        .filter(() => random.next() < 0.6)
        .map(({ name }) => name)
        .filter((name) => releasedKeys(map, [name]).ok);
      const plan = map.frames.map((frame) => planned(frame, { firstAfterWakeMs: random.pick([null, seen(5)]) }));
      const asked = { map, planned: plan, release, span: null, unwatched: [], code: {} };
      const made = exportSchedule(asked);
      if (!made.ok) throw new Error(made.problems[0].message);
      const { schedule, phrase } = made.value;
      expect(scheduleFiles(asked, made.value, 'send it')).toBeNull();
      const files = scheduleFiles(asked, made.value, phrase);
      expect(files === null).toBe(schedule.frames.length === 0);
      const rows =
        (files?.find(({ name }) => name === 'signal_map_schedule.c')?.text ?? '').match(/\{UINT32_C\(0x1\w\w\)/g) ?? [];
      expect(rows).toHaveLength(schedule.frames.length);
      for (const { frame } of schedule.frames) {
        scheduled++;
        expect(release).toContain(frame.name);
        expect(frame.role).not.toBe('sent-by-part');
        expect(frame.timing.kind).not.toBe('reply');
        expect((frame.rest as { marked?: string }).marked).toBe('at rest');
      }
      const left = new Set(made.value.leftOut.map(({ name }) => name));
      expect(left.size + schedule.frames.length).toBe(map.frames.length);
    }),
    { numRuns: 400, seed: 20261 },
  );
  expect(scheduled).toBeGreaterThan(100);
});

it('the job copies nothing that the logger sent', () => {
  const table = randomTable(createRandom('job'));
  const [part] = excerptJob.parts({ job: 'excerpt', ...randomAsked(createRandom('job')) }, table);
  expect(table.streams.some(({ direction }) => direction === 'sent')).toBe(true);
  expect(part?.streams.every(({ direction }) => direction === 'received')).toBe(true);
});

it('released by bus and identifier is released by name', () => {
  const map = randomMap(createRandom('keys'));
  const frame = map.frames.find(({ name }) => releasedKeys(map, [name]).ok) as MapFrame;
  expect(releasedKeys(map, [frameKey(frame)])).toEqual(releasedKeys(map, [frame.name]));
});
