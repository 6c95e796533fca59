/** The second simulator held against physics, against a published bound, and against its own truth. */
import { describe, expect, it } from 'vitest';
import { checkTable } from '../../../src/frames/check-table.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { wireBits, worstCaseBits } from '../../../src/frames/wire.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { BETWEEN_FRAMES, classicalFrameBits } from './bit-count.ts';
import type { WireFrame } from './controller.ts';
import { makeTraffic, type Traffic } from './make-traffic.ts';
import { drawResonator, makeOscillator } from './oscillator.ts';
import type { MessagePlan, ModulePlan, VehiclePlan } from './plan.ts';
import { runVehicle } from './run-vehicle.ts';
import { longestResponseUs } from './waiting-bound.ts';

const BUSY = { buses: 2, bitrates: [500_000, 125_000], load: 0.6, plain: 0.5 } as const;
const busy = makeTraffic({ seed: 11, durationS: 30, ...BUSY });
const day = makeTraffic({ seed: 12, durationS: 60, steady: false, resets: 2, errorShare: 0.002 });

function byBus({ happened, plan }: Traffic): WireFrame[][] {
  return plan.buses.map((_, bus) => happened.frames.filter((frame) => frame.bus === bus));
}

describe('the wire', () => {
  it('counts bits as the project does (two counts written apart)', () => {
    const random = createRandom('bits');
    for (let i = 0; i < 2000; i++) {
      const extended = random.next() < 0.5;
      const id = random.below(extended ? 2 ** 29 : 2 ** 11);
      const fill = random.pick([0, 0xff, -1]);
      const payload = Uint8Array.from({ length: random.below(9) }, () => (fill < 0 ? random.below(256) : fill));
      expect(classicalFrameBits(id, extended, payload)).toBe(wireBits({ id, extended, payload }).nominal);
    }
  });

  it.each([['busy', busy] as const, ['day', day] as const])('carries one frame at a time: %s', (_, traffic) => {
    byBus(traffic).forEach((frames, bus) => {
      const gapUs = (BETWEEN_FRAMES * 1e6) / (traffic.plan.buses[bus]?.bitrate as number);
      for (let i = 1; i < frames.length; i++) {
        const before = frames[i - 1] as WireFrame;
        expect((frames[i] as WireFrame).startUs).toBeGreaterThanOrEqual(before.endUs + gapUs - 1e-3);
      }
    });
  });

  it('lets only lower identifiers pass a frame that its mailbox offers', () => {
    let waited = 0;
    for (const frames of byBus(busy)) {
      frames.forEach((frame, i) => {
        const { module } = busy.plan.messages[frame.message] as MessagePlan;
        if (busy.plan.modules[module]?.waiting !== 'mailboxes') return;
        for (let j = i - 1; j >= 0 && (frames[j] as WireFrame).startUs > frame.askedUs; j--) {
          waited++;
          expect((frames[j] as WireFrame).rank).toBeLessThan(frame.rank);
        }
      });
    }
    expect(waited).toBeGreaterThan(100);
  });

  it('is as busy as wished, or less', () => {
    byBus(busy).forEach((frames) => {
      const share = frames.reduce((sum, { startUs, endUs }) => sum + endUs - startUs, 0) / 30e6;
      expect(share).toBeGreaterThan(0.05);
      expect(share).toBeLessThan(0.65);
    });
  });
});

function fixedVehicle(periodsUs: readonly number[]): VehiclePlan {
  const modules = periodsUs.map((periodUs, place): ModulePlan => ({
    name: `n${place}`,
    // Slow, so that phases move through each other and no period is shorter than the bound takes it.
    oscillator: { ppm: -40 * place, wanderPpm: 0, coldPpm: 0, warmingS: 1 },
    tasks: [{ periodUs, phaseUs: 0 }],
    waiting: 'mailboxes',
    depth: 64,
    lateUs: 0,
    workUs: 0,
    heldShare: 0,
    heldUs: 0,
    awakeIn: ['on'],
    bootUs: 0,
    lingerUs: 0,
    followsUs: 0,
  }));
  const messages = periodsUs.map((_, place): MessagePlan => ({
    name: `f${place}`,
    module: place,
    bus: 0,
    id: place,
    extended: false,
    length: 7,
    trigger: { by: 'task', task: 0, every: 1, at: 0 },
    still: [0, 0, 0, 0, 0, 0, 0],
    items: [],
    changesUs: [],
    without: null,
  }));
  const buses = [{ name: 'b', bitrate: 125_000 }];
  return { seed: 5, buses, modules, messages, rings: [] };
}

describe('waiting for the wire', () => {
  const frame = { jitterUs: 0, wireUs: (worstCaseBits(7, false) * 1e6) / 125_000 };
  const set = [2500, 3500, 3500].map((periodUs) => ({ ...frame, periodUs }));

  // Davis, Burns, Bril, Lukkien 2007, section 3.1: three messages of 7 bytes at 125 kbit/s, 1 ms each; the second instance of the
  // lowest takes 3.5 ms where the refuted analysis gave 3 ms (values from memory).
  it('has the published bound for the published set', () => {
    expect(frame.wireUs).toBe(1000);
    expect(longestResponseUs(set, 2, 8)).toBe(3500);
  });

  it('comes near the bound and never beyond', () => {
    const periodsUs = [2500, 3500, 3500];
    const { frames } = runVehicle(fixedVehicle(periodsUs), { modes: [{ mode: 'on', fromUs: 0, toUs: 120e6 }] });
    periodsUs.forEach((_, place) => {
      const own = frames.filter(({ message }) => message === place);
      const longest = own.reduce((most, { askedUs, endUs }) => Math.max(most, endUs + 3 * 8 - askedUs), 0);
      expect(longest).toBeLessThanOrEqual(longestResponseUs(set, place, 8));
      expect(longest).toBeGreaterThan(0.8 * longestResponseUs(set, place, 8));
    });
  });
});

describe('clocks', () => {
  it('turn back to the instant that they were read at', () => {
    const random = createRandom('clock');
    for (let i = 0; i < 50; i++) {
      const clock = makeOscillator(drawResonator(random), random);
      const us = random.between(-90e6, 1e9);
      expect(clock.trueUs(clock.ownUs(us))).toBeCloseTo(us, 3);
    }
  });
});

describe('the truth', () => {
  it('has the periods that are on the wire', () => {
    const { happened, plan, truth } = busy;
    let checked = 0;
    for (const { bus, id, extended, periodMs, kind, copyOf } of truth.identifiers) {
      if (kind !== 'periodic' || periodMs === null || copyOf) continue;
      const message = plan.messages.findIndex(
        (m) => m.id === id && m.extended === extended && plan.buses[m.bus]?.name === bus,
      );
      const ends = happened.frames.filter((frame) => frame.message === message).map(({ endUs }) => endUs);
      const meanMs = ((ends[ends.length - 1] as number) - (ends[0] as number)) / (ends.length - 1) / 1000;
      checked++;
      // Ends scatter by some ms over 30 s; resonators wander by 60 ppm and more.
      expect(Math.abs(meanMs / periodMs - 1)).toBeLessThan(6e-4);
    }
    expect(checked).toBeGreaterThan(15);
  });

  it('has an answer after each answered request', () => {
    const { happened, plan } = busy;
    let answers = 0;
    plan.messages.forEach(({ trigger }, number) => {
      if (trigger.by !== 'request' || trigger.frames > 1) return;
      const asks = happened.frames.filter(({ message }) => message === trigger.of).map(({ endUs }) => endUs);
      for (const { message, askedUs } of happened.frames) {
        if (message !== number) continue;
        const sinceUs = askedUs - (asks.filter((us) => us < askedUs).pop() ?? -Infinity);
        answers++;
        // The first may answer a request of the time before the recording.
        if (askedUs > 100_000) expect(sinceUs).toBeGreaterThan(0.99 * trigger.delayUs);
        if (askedUs > 100_000) expect(sinceUs).toBeLessThan(trigger.delayUs + 80_000);
      }
    });
    expect(answers).toBeGreaterThan(50);
  });

  it('copies payloads unchanged', () => {
    const { happened, plan } = busy;
    const copies = plan.messages.flatMap(({ trigger }, number) =>
      trigger.by === 'copy' ? [{ number, of: trigger.of }] : [],
    );
    expect(copies.length).toBeGreaterThan(2);
    for (const { number, of } of copies) {
      const sources = new Set(
        happened.frames.filter(({ message }) => message === of).map(({ payload }) => payload.join()),
      );
      const own = happened.frames.filter(({ message, endUs }) => message === number && endUs > 1e5);
      expect(own.filter(({ payload }) => sources.has(payload.join())).length).toBe(own.length);
    }
  });

  it('sleeps, wakes and boots', () => {
    const { truth, table } = day;
    expect(truth.boots.length).toBeGreaterThan(4);
    const asleep = truth.modes[0] as { toS: number };
    const firstUs = Math.min(...table.streams.map(({ timeUs }) => timeUs[0] as number));
    expect(firstUs).toBe(0);
    expect(asleep.toS).toBeLessThan(0.01);
    const silence = truth.modes.filter(({ mode }) => mode === 'asleep')[1] as { fromS: number; toS: number };
    const inside = table.streams.filter(({ timeUs }) =>
      timeUs.some((us) => us > (silence.fromS + 3.2) * 1e6 && us < silence.toS * 1e6),
    );
    expect(inside).toEqual([]);
    expect(table.errors[0]?.count).toBeGreaterThan(5);
  });

  it('lacks what is unplugged, and says who notices', () => {
    const { plan } = busy;
    const place = plan.modules.findIndex((_, module) =>
      plan.messages.some(({ without }) => without?.module === module),
    );
    const { table, truth } = makeTraffic({
      seed: 11,
      durationS: 10,
      buses: 2,
      load: 0.6,
      plain: 0.5,
      unplugged: [place],
    });
    const names = new Set(table.streams.map(({ bus, id }) => `${bus} ${id}`));
    expect(truth.unplugged.missing.length).toBeGreaterThan(0);
    for (const { bus, id } of truth.unplugged.missing) expect(names.has(`${bus} ${id}`)).toBe(false);
    expect(truth.unplugged.reactions.length).toBeGreaterThan(0);
  });
});

describe('the recording', () => {
  it('is a sound table, the same for the same seed', () => {
    const wish = { seed: 21, durationS: 8 };
    const [first, again, other] = [makeTraffic(wish), makeTraffic(wish), makeTraffic({ ...wish, seed: 22 })];
    expect(checkTable(first.table)).toEqual([]);
    expect(first.logText()).toEqual(again.logText());
    expect(first.logText()).not.toEqual(other.logText());
    const later = makeTraffic({ ...wish, take: 1, durationS: 12 });
    const layout = ({ plan }: Traffic): unknown => plan.messages.map((message) => ({ ...message, changesUs: [] }));
    expect(layout(later)).toEqual(layout(first));
    expect(later.logText()[0]?.slice(0, 5000)).not.toBe(first.logText()[0]?.slice(0, 5000));
    for (const traffic of [busy, day]) expect(checkTable(traffic.table)).toEqual([]);
  });

  it('is read back from its log lines, a restart of the clock included', async () => {
    const traffic = makeTraffic({ seed: 23, durationS: 12, logger: { restartsS: [6] } });
    const [text] = traffic.logText() as [string];
    const read = await readCapture([{ source: memorySource('a.log', new TextEncoder().encode(text)) }], {}, {});
    if (!read.ok) throw new Error('not read');
    expect(read.value.frameCount).toBe(traffic.table.frameCount);
    expect(read.value.files[0]?.clockEvents.map(({ kind }) => kind)).toEqual(['restart']);
  });

  it('is spoilt as wished', () => {
    const wish = { seed: 24, durationS: 10 };
    const stamps = (logger: object): number[] =>
      makeTraffic({ ...wish, logger })
        .table.streams.flatMap(({ timeUs }) => [...timeUs])
        .sort((a, b) => a - b);
    expect(stamps({ resolutionUs: 1000 }).every((us) => us % 1000 === 0)).toBe(true);
    expect(new Set(stamps({ pollMs: 10, resolutionUs: 1 })).size).toBeLessThanOrEqual(1002);
    const sent = stamps({ transfer: { frames: 32, withinMs: 4, apartUs: 20 } });
    const close = sent.filter((us, i) => i > 0 && us - (sent[i - 1] as number) <= 21).length;
    expect(close / sent.length).toBeGreaterThan(0.3);
    const { truth, table } = makeTraffic({
      ...wish,
      logger: { lossBursts: 5, lossMost: 30, holes: [{ atS: 4, forS: 1 }] },
    });
    expect(truth.lost).toBeGreaterThan(50);
    expect(truth.identifiers.reduce((n, each) => n + each.sent - each.recorded, 0)).toBe(truth.lost);
    expect(truth.identifiers.reduce((n, each) => n + each.recorded, 0)).toBe(table.frameCount);
  });

  it('has two loggers that drift apart', () => {
    const logger = { skewPpm: 40, wanderPpm: 0 };
    const { truth } = makeTraffic({ seed: 25, durationS: 20, buses: 2, secondLogger: { aheadS: 3.7, logger } });
    expect(truth.loggers[1]?.aheadS).toBeCloseTo(3.7, 3);
    expect(Math.abs((truth.loggers[1]?.driftPpm as number) - 28)).toBeLessThan(1);
  });
});
