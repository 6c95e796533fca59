/** What Handover draws and asks: lanes, delays, sequences, releases, choices. The words of a need are those of the map's contract. */
import { describe, expect, it } from 'vitest';
import { codeChoices } from '../../src/app/places/handover/choices.ts';
import { releasable, whyNoRelease } from '../../src/app/places/handover/c/release.ts';
import { delayAxis, placeOn, type DelayRow } from '../../src/app/places/handover/delays.ts';
import { afterWaking } from '../../src/app/places/handover/plan/after-waking.ts';
import { hyperperiodMs, lanesOf, meantMs, spansOf } from '../../src/app/places/handover/plan/lanes.ts';
import { AXIS_HEIGHT, lanesHeight, lanesScene } from '../../src/app/places/handover/plan/lanes-scene.ts';
import { firstShown, rowsOf } from '../../src/app/places/handover/sequences/model.ts';
import { withoutSheet } from '../../src/app/places/handover/report/sheet.ts';
import { handoverFiles } from '../../src/handover/handover-files.ts';
import type { PlannedFrame } from '../../src/handover/needs/types.ts';
import { emptyDossier } from '../../src/jobs/dossier.ts';
import { recordingSurface } from '../../src/kit/drawing/recording-surface.ts';
import type { Palette } from '../../src/kit/drawing/palette.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aMap, aSignal } from '../support/map-parts.ts';
import { planned as plannedFrame } from '../support/plan-parts.ts';

const planned = (frame: Partial<MapFrame>, part: Partial<PlannedFrame> = {}): PlannedFrame =>
  plannedFrame(aFrame(frame), { phaseMs: 0, ...part });
const every = (periodMs: number): MapFrame['timing'] => ({ kind: 'periodic', periodMs, jitterMs: 0.1 });
const onChange: MapFrame['timing'] = { kind: 'on-change', periodMs: null, jitterMs: null };

describe('lanes', () => {
  it('have a bar whenever their frame is due within the span, from its phase on', () => {
    const [lane] = lanesOf([planned({ timing: every(20) }, { phaseMs: 7 })], 100);
    expect(lane?.atMs).toEqual([7, 27, 47, 67, 87]);
    expect(lane?.isPlaced).toBe(true);
  });

  it('of a frame whose phase is unknown begin at zero and say so', () => {
    const [lane] = lanesOf(
      [planned({ timing: every(50) }, { phaseMs: null, phaseWhy: 'its sender is not known' })],
      100,
    );
    expect(lane).toMatchObject({ atMs: [0, 50], isPlaced: false, words: '' });
  });

  it('of what is not sent by the clock have words in place of bars', () => {
    const [lane] = lanesOf([planned({ timing: onChange }, { periodMs: null, phaseMs: null })], 100);
    expect(lane).toMatchObject({ atMs: [], everyMs: null, words: 'on change' });
  });

  it('of what does not come within the span say how often it comes', () => {
    const [lane] = lanesOf([planned({ timing: every(1000.04) }, { phaseMs: 640 })], 100);
    expect(lane).toMatchObject({ atMs: [], everyMs: 1000, words: 'every 1 s, not in this span' });
  });

  it('take a measured period for the whole one it lies next to, and no other', () => {
    expect(meantMs(9.99968)).toBe(10);
    expect(meantMs(640.027)).toBe(640);
    expect(meantMs(12.5)).toBe(12.5);
  });

  it('are drawn over one of each at the longest: the least common multiple, as long as a drawing bears it', () => {
    expect(hyperperiodMs([10, 20, 50])).toBe(100);
    expect(hyperperiodMs([10, 25, 40])).toBe(200);
    expect(hyperperiodMs([7, 640, 1000])).toBe(2000);
    expect(spansOf([planned({ timing: every(10.0001) }), planned({ timing: every(40.002) })])).toEqual({
      shortMs: 100,
      wholeMs: 100,
    });
    expect(spansOf([planned({ timing: every(10) }), planned({ timing: every(250) })])).toEqual({
      shortMs: 100,
      wholeMs: 250,
    });
    expect(spansOf([planned({ timing: every(500) })])).toEqual({ shortMs: 500, wholeMs: 500 });
    expect(spansOf([])).toEqual({ shortMs: 100, wholeMs: 100 });
  });
});

const PALETTE = new Proxy({}, { get: (_, name) => (name === 'groups' ? { B: 'hue-b' } : String(name)) }) as Palette;

function drawn(frames: readonly PlannedFrame[], held: string | null = null) {
  const lanes = lanesOf(frames, 100);
  const { surface, drawn: list } = recordingSurface(500, lanesHeight(lanes.length, 26));
  lanesScene({ lanes, spanMs: 100, pitch: 26, held })(surface, PALETTE);
  return list;
}
const sender = { group: 'B', name: '', confidence: 0.9 };
const byte = (at: number) => ({ byte: at, bit: 0 });

describe('the drawing of the lanes', () => {
  const guarded = {
    sender,
    timing: every(50),
    counters: [aCounter({ lsb: byte(6), length: 4 })],
    checksums: [aChecksum({ lsb: byte(7), length: 8, method: 'xor' })],
  };

  it('has a bar in the sender’s hue at each time, a dot for a counter, a notch for a checksum', () => {
    const list = drawn([planned(guarded, { phaseMs: 20 })]);
    const bars = list.filter(
      ({ what, with: [, , , , fill] }) => what === 'rect' && (fill as { color: string }).color === 'hue-b',
    );
    expect(bars).toHaveLength(2);
    // 20 of 100 ms on 486 px, the bar's left edge there.
    expect(bars[0]?.with[0]).toBeCloseTo(0.2 * 486, 6);
    expect(list.filter(({ what }) => what === 'circle')).toHaveLength(2);
    const notches = list.filter(
      ({ what, with: [, , , , fill] }) => what === 'rect' && (fill as { color: string }).color === 'ground',
    );
    expect(notches).toHaveLength(2);
  });

  it('has neither dot nor notch where nothing guards, and open bars where the phase is unknown', () => {
    const list = drawn([planned({ sender, timing: every(50) }, { phaseMs: null })]);
    expect(list.filter(({ what }) => what === 'circle')).toHaveLength(0);
    expect(list.filter(({ what }) => what === 'frame')).toHaveLength(2);
  });

  it('draws no solid bar of what cannot be produced, and says it', () => {
    const list = drawn([planned({ ...guarded }, { whyNotProduced: 'its tag depends on a secret' })]);
    expect(
      list.filter(({ what, with: [, , , , fill] }) => what === 'rect' && (fill as { color: string }).color === 'hue-b'),
    ).toEqual([]);
    expect(list.some(({ what, with: [, , words] }) => what === 'text' && words === 'cannot be produced')).toBe(true);
  });

  it('brackets the lane that is held', () => {
    const frames = [planned({ id: '0x100' }), planned({ id: '0x200' })];
    const key = lanesOf(frames, 100)[1]?.key as string;
    const brackets = drawn(frames, key).filter(
      ({ what, with: [, stroke] }) => what === 'polyline' && (stroke as { color: string }).color === 'accent',
    );
    expect(brackets).toHaveLength(1);
    const ys = (brackets[0]?.with[0] as number[]).filter((_, at) => at % 2 === 1);
    expect(Math.min(...ys)).toBeGreaterThan(AXIS_HEIGHT + 26);
  });
});

const row = (lowMs: number, highMs: number): DelayRow => ({
  key: `${lowMs}`,
  label: '',
  group: null,
  lowMs,
  highMs,
  midMs: null,
  seen: '',
  inferred: false,
});

describe('delays', () => {
  it('lie on an axis with zero and all of them on it, ended by figures', () => {
    const axis = delayAxis([row(12, 40), row(330, 460)]);
    expect(axis).toMatchObject({ fromMs: 0, toMs: 500 });
    expect(placeOn(axis, 250)).toBe(0.5);
    const before = delayAxis([row(-60, 40)]);
    expect(before.fromMs).toBeLessThanOrEqual(-60);
    expect(before.ticks).toContain(0);
    expect(delayAxis([]).toMs).toBeGreaterThan(0);
  });

  it('after waking are told by bus, in the order of their medians; what was not seen is not there', () => {
    const seen = (midMs: number) => ({ midMs, lowMs: midMs - 5, highMs: midMs + 5, n: 3 });
    const orders = afterWaking([
      planned({ id: '0x300', bus: 'can1' }, { firstAfterWakeMs: seen(10) }),
      planned({ id: '0x200' }, { firstAfterWakeMs: seen(90) }),
      planned({ id: '0x100' }, { firstAfterWakeMs: seen(40) }),
      planned({ id: '0x400' }),
    ]);
    expect(orders.map(({ bus, rows }) => [bus, ...rows.map(({ label }) => label)])).toEqual([
      ['can0', '0x100', '0x200'],
      ['can1', '0x300'],
    ]);
  });
});

const step = (
  id: string,
  signal: string,
  delayMs: [number, number],
): SignalMap['sequences'][number]['steps'][number] => ({
  bus: 'can0',
  id,
  signal,
  from: 0,
  to: 1,
  group: 'B',
  delayMs,
  seen: 2,
});

describe('sequences', () => {
  const states = aSignal({ name: 'relay', lsb: byte(0), length: 1, states: { '1': 'closed' }, standing: 'supported' });
  const frames = [aFrame({ id: '0x1F4', signals: [states] })];
  const sequence = {
    name: 'key turned: on',
    event: 'key turned',
    n: 2,
    steps: [step('0x1F4', 'relay', [200, 240]), step('0x2A0', 'b1', [5, 9])],
    presence: [
      {
        bus: 'can0',
        id: '0x300',
        what: 'begins' as const,
        group: null,
        delayMs: [20, 30] as [number, number],
        seen: 1,
      },
    ],
  };

  it('are rows in the order of their delays, states by name, guesses in italics', () => {
    const rows = rowsOf(sequence, frames);
    expect(rows.map(({ label }) => label)).toEqual(['0x2A0 b1 0 → 1', '0x300 begins', '0x1F4 relay 0 → closed']);
    expect(rows.map(({ inferred }) => inferred)).toEqual([true, false, false]);
    expect(rows.at(-1)?.seen).toBe('2 of 2 times');
  });

  it('begin with one after the key', () => {
    const other = { ...sequence, name: 'brake pressed', event: 'brake pressed', n: 9 };
    expect(firstShown([other, sequence])?.name).toBe('key turned: on');
    expect(firstShown([])).toBeNull();
  });
});

describe('releases', () => {
  const torque = aSignal({ name: 'torque', lsb: byte(0), length: 16, unit: 'N m' });
  const speed = aSignal({ name: 'speed', lsb: byte(2), length: 16, unit: 'km/h' });
  const map = aMap([
    aFrame({ id: '0x100', name: 'wish', signals: [torque, speed] }),
    aFrame({ id: '0x200', name: 'told', role: 'sent-by-part', signals: [torque] }),
    aFrame({ id: '0x300', name: 'bare', rest: null, signals: [torque] }),
  ]);

  it('are offered for what may move the machine and could be sent, and for nothing else', () => {
    expect(releasable(map)).toEqual(['wish.torque']);
  });

  it('take a whole name only', () => {
    expect(whyNoRelease('wish.torque', ['wish.torque'], [])).toBeNull();
    expect(whyNoRelease('torque', ['wish.torque'], [])).toContain('No signal is called');
    expect(whyNoRelease('', ['wish.torque'], [])).toContain('FRAME.SIGNAL');
    expect(whyNoRelease('wish.torque', ['wish.torque'], ['wish.torque'])).toContain('already');
    expect(whyNoRelease('wish.torque', ['wish.torque', 'wish.torque'], [])).toContain('2 signals are called');
  });
});

describe('choices of the C', () => {
  it('are the usual ones where the dossier says nothing, or something that is not known', () => {
    const usual = codeChoices(emptyDossier());
    expect(usual).toMatchObject({ prefix: 'sm', ranges: 'observed', scaling: 'float', crc: 'bitwise', release: [] });
    const strange = { ...emptyDossier(), code: { prefix: '9 lives', scaling: 'fixed', filters: -3, crc: 'table' } };
    expect(codeChoices(strange)).toMatchObject({
      prefix: 'sm',
      scaling: 'float',
      filters: usual.filters,
      crc: 'table',
    });
  });
});

describe('a report in its frame', () => {
  it('has its sheet taken out, whole, and nothing else', () => {
    const html = '<head><title>t</title><style>a{b:c}\nd{e:f}</style></head><body>&lt;style&gt;x</body>';
    expect(withoutSheet(html)).toEqual({
      bare: '<head><title>t</title></head><body>&lt;style&gt;x</body>',
      sheet: 'a{b:c}\nd{e:f}',
    });
    expect(withoutSheet('<p>none</p>')).toEqual({ bare: '<p>none</p>', sheet: '' });
  });

  it('is one that bears exactly one sheet, and no style in any attribute', () => {
    const map = aMap([aFrame({ signals: [aSignal({ lsb: byte(0), length: 8 })] })]);
    const file = handoverFiles(map).files.find(({ name }) => name === 'report.html');
    const { bare, sheet } = withoutSheet(new TextDecoder().decode(file?.bytes));
    expect(sheet.length).toBeGreaterThan(1000);
    expect(bare).not.toMatch(/<style|\sstyle=|<script|<link/i);
  });
});
