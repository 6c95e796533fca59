/** What wins when findings, marks, references and a person speak of the same bits. Everything here is made by hand. */
import { describe, expect, it } from 'vitest';
import type { Link, LinkReport } from '../../src/actions/types.ts';
import { assembleMap } from '../../src/draft/assemble.ts';
import { slugOf, unusedName } from '../../src/draft/names.ts';
import type { AssembleInput } from '../../src/draft/types.ts';
import type { FieldFinding, FrameFindings } from '../../src/fields/types.ts';
import { checkMap } from '../../src/map/check.ts';
import { signalMapSchema, type MapFrame, type MapSignal } from '../../src/map/schema.ts';
import type { Fit, FitReport } from '../../src/reference/types.ts';
import type { Survey, SurveyFrame } from '../../src/timing/types.ts';

const KEY = { bus: 'can0', id: '0x1F4', extended: false };

const field = (name: string, byte: number, length: number, more: Partial<MapSignal> = {}): FieldFinding => ({
  name,
  lsb: { byte, bit: 0 },
  length,
  order: 'little',
  coding: 'unsigned',
  kind: 'number',
  role: 'unknown',
  when: null,
  scale: 1,
  offset: 0,
  unit: '',
  observed: { min: 10, max: 200 },
  allowed: null,
  invalid: [],
  states: {},
  table: null,
  standing: 'guess',
  sending: 'untested',
  confidence: 0.8,
  evidence: [],
  notes: '',
  why: 'these bits move together',
  ...more,
});

const findings = (fields: FieldFinding[], more: Partial<FrameFindings> = {}): FrameFindings => ({
  ...KEY,
  direction: 'received',
  length: 8,
  fd: false,
  bits: { bytes: 8, frames: 100, setShare: [], changeShare: [] },
  counters: [],
  checksums: [],
  selectors: [],
  fields,
  unclaimed: [{ lsb: { byte: 5, bit: 0 }, length: 16, order: 'little', reason: 'idle', value: 0, why: 'never set' }],
  ...more,
});

const survey: Survey = {
  capture: {
    frames: 100,
    rejected: 0,
    originS: '0',
    startS: 0,
    durationS: 10,
    clock: {
      kind: 'relative',
      resolutionUs: 1,
      tick: null,
      sameStampShare: 0,
      batches: [],
      jumps: [],
      pauses: [],
      lost: null,
      loggers: [],
      events: [],
      outOfOrder: 0,
      verdict: '',
    },
  },
  buses: [
    {
      name: 'can0',
      frames: 100,
      errors: 0,
      sent: 0,
      loadWhy: '',
      remotes: 0,
      bitrate: 500_000,
      dataBitrate: null,
      load: 0.1,
      peakLoad: 0.2,
      stuffing: null,
      gaps: [],
    },
  ],
  frames: [
    {
      ...KEY,
      direction: 'received',
      count: 100,
      length: 8,
      lengths: [{ length: 8, count: 100 }],
      fd: false,
      timing: { kind: 'periodic', periodMs: 100, jitterMs: 0.4 },
      medianIntervalMs: 100,
      timingWhy: '',
      missed: 0,
      firstS: 0,
      lastS: 10,
      gaps: [],
      group: null,
      groupConfidence: null,
      groupWhy: '',
      skew: null,
      copyOf: null,
      network: null,
      distinctPayloads: 50,
    },
  ],
  groups: [],
  modes: [],
};

const base: AssembleInput = {
  survey,
  findings: [findings([field('b0', 0, 8), field('b1', 1, 8), field('b2_3', 2, 16)])],
  part: { title: 'Drive unit', donor: '', notes: '' },
  captures: [{ id: 'c1', title: 'first', files: [{ name: 'a.log', bytes: 3, sha256: 'ab' }] }],
  made: { by: 'loomscribe test', at: '2026-03-09T00:00:00Z' },
};

const place = (byte: number, length: number) => ({
  ...KEY,
  lsb: { byte, bit: 0 },
  length,
  order: 'little' as const,
  when: null,
});

const link = (byte: number, length: number, more: Partial<Link> = {}): Link => ({
  ...place(byte, length),
  field: '',
  effect: 3,
  effectSd: 9,
  effectInterval: [2, 4],
  lagS: 0.05,
  p: 1e-6,
  q: 1e-4,
  direction: 'onset',
  n: 8,
  ...more,
});
const links = (...list: Link[]): LinkReport => ({
  clockOffsetS: 0,
  clock: { offsetS: 0, seS: null, from: 'given', curve: null, chance: null, words: '' },
  actions: [{ action: 'Brake pressed', marks: 8, links: list, tested: 10, words: '' }],
});

const fit = (byte: number, length: number, more: Partial<Fit> = {}): Fit => ({
  ...place(byte, length),
  field: '',
  coding: 'unsigned',
  scale: 0.1003,
  scaleSe: 0.0004,
  offset: -39.7,
  offsetSe: 0.4,
  simpleScale: 0.1,
  simpleOffset: -40,
  lagS: 0,
  r2: 0.99,
  n: 200,
  chance: 1e-9,
  ...more,
});
const fits = (...list: Fit[]): FitReport => ({
  clockOffsetS: 0,
  quantities: [{ name: 'Oil temperature', unit: '°C', fits: list, words: '' }],
});

function frameOf(more: Partial<AssembleInput>): MapFrame {
  const map = assembleMap({ ...base, ...more });
  const parsed = signalMapSchema.safeParse(map);
  expect(parsed.success).toBe(true);
  expect(checkMap(map).errors).toEqual([]);
  return map.frames[0] as MapFrame;
}
const signalAt = (frame: MapFrame, byte: number): MapSignal =>
  frame.signals.find(({ lsb }) => lsb.byte === byte) as MapSignal;

describe('assembleMap', () => {
  it('takes over what was found, with timing from the survey and without reasons in words', () => {
    const frame = frameOf({});
    expect(frame).toMatchObject({
      name: 'can0_1F4',
      timing: { kind: 'periodic', periodMs: 100 },
      role: 'unknown',
      rest: null,
    });
    expect(frame.signals.map(({ name, standing }) => [name, standing])).toEqual([
      ['b0', 'guess'],
      ['b1', 'guess'],
      ['b2_3', 'guess'],
    ]);
    expect(JSON.stringify(frame)).not.toContain('why');
  });

  it('takes the sender group with its confidence, under its letter until it is named', () => {
    const [frame] = survey.frames;
    const grouped = { ...survey, frames: [{ ...(frame as SurveyFrame), group: 'B', groupConfidence: 0.93 }] };
    expect(frameOf({}).sender).toBeNull();
    expect(frameOf({ survey: grouped }).sender).toEqual({ group: 'B', name: 'sender B', confidence: 0.93 });
  });

  it('names the direct responder after its action and keeps the figures as evidence', () => {
    const frame = frameOf({ links: links(link(1, 8), link(0, 8, { lagS: 0.2 })) });
    expect(signalAt(frame, 1).name).toBe('brake_pressed');
    expect(signalAt(frame, 0).name).toBe('b0');
    expect(signalAt(frame, 0).evidence[0]).toMatchObject({
      kind: 'link',
      capture: 'c1',
      action: 'Brake pressed',
      effect: 3,
      q: 1e-4,
      n: 8,
    });
    expect(signalAt(frame, 1).standing).toBe('guess');
  });

  it('leaves out links that are not sure', () => {
    const frame = frameOf({ links: links(link(1, 8, { q: 0.2 })) });
    expect(signalAt(frame, 1)).toMatchObject({ name: 'b1', evidence: [] });
  });

  it('names states after what the marks said, once each was seen twice', () => {
    const states = [
      { value: 'D', raw: 3, seen: 4, of: 4 },
      { value: 'R', raw: 1, seen: 2, of: 2 },
    ];
    const twice = signalAt(frameOf({ links: links(link(1, 8, { states })) }), 1);
    expect(twice).toMatchObject({ kind: 'states', states: { '3': 'D', '1': 'R' }, standing: 'supported' });
    const once = signalAt(
      frameOf({ links: links(link(1, 8, { states: [{ ...states[0], seen: 1 } as never, states[1] as never] })) }),
      1,
    );
    expect(once).toMatchObject({ states: {}, standing: 'guess' });
  });

  it('writes a bent tie as a table, which the map then requires', () => {
    const bent = fit(0, 8, {
      simpleScale: null,
      simpleOffset: null,
      rank: -0.99,
      table: [
        [0, 90],
        [100, 40],
        [255, 10],
      ],
    });
    const signal = signalAt(frameOf({ fits: fits(bent) }), 0);
    expect(signal).toMatchObject({
      table: bent.table,
      unit: '°C',
      scale: 1,
      offset: 0,
      observed: { min: 10, max: 90 },
    });
    expect(assembleMap({ ...base, fits: fits(bent) }).requires).toContain('table');
  });

  it('scales by the round figures of a fit, names after the quantity, moves the observed range', () => {
    const signal = signalAt(frameOf({ fits: fits(fit(0, 8)) }), 0);
    expect(signal).toMatchObject({ name: 'oil_temperature', scale: 0.1, offset: -40, unit: '°C', standing: 'guess' });
    expect(signal.observed).toEqual({ min: -39, max: -20 });
    expect(signal.evidence[0]).toMatchObject({ kind: 'fit', scale: 0.1003, simpleScale: 0.1, n: 200 });
  });

  it('is supported only where two kinds of evidence agree', () => {
    const both = frameOf({ fits: fits(fit(0, 8)), links: links(link(0, 8)) });
    expect(signalAt(both, 0)).toMatchObject({ name: 'oil_temperature', standing: 'supported' });
  });

  it('applies no fit that luck explains, and only the first of a quantity', () => {
    expect(signalAt(frameOf({ fits: fits(fit(0, 8, { chance: 0.4 })) }), 0)).toMatchObject({ scale: 1, unit: '' });
    const frame = frameOf({ fits: fits(fit(0, 8), fit(1, 8)) });
    expect(signalAt(frame, 1)).toMatchObject({ name: 'b1', scale: 1 });
  });

  it('rounds a scale that is not a round one to what its error leaves', () => {
    const signal = signalAt(
      frameOf({
        fits: fits(fit(0, 8, { scale: 0.0123456789, scaleSe: 0.00001, simpleScale: null, simpleOffset: null })),
      }),
      0,
    );
    expect(signal.scale).toBe(0.012346);
  });

  it('lets what a person named win over every finding that shares its bits', () => {
    const { why: _why, ...mine } = field('torque', 1, 16, { scale: 0.125, unit: 'N m', standing: 'supported' });
    const frame = frameOf({
      signals: [{ ...KEY, signal: mine }],
      links: links(link(1, 8)),
      frameNames: [{ ...KEY, name: 'inverter_status' }],
    });
    expect(frame.name).toBe('inverter_status');
    expect(frame.signals.map(({ name }) => name)).toEqual(['torque', 'b0']);
    expect(frame.signals[0]).toMatchObject({ scale: 0.125, standing: 'supported', evidence: [{ kind: 'by-hand' }] });
  });

  it('takes frames of the senders that are the part for sent by it, and no others', () => {
    const surveyed = {
      ...survey,
      frames: survey.frames.map((frame) => ({ ...frame, group: 'B', groupConfidence: 0.9 })),
    };
    expect(frameOf({ survey: surveyed, partSenders: ['B'] }).role).toBe('sent-by-part');
    expect(frameOf({ survey: surveyed, partSenders: ['A'] }).role).toBe('unknown');
    expect(frameOf({ partSenders: ['B'] }).role).toBe('unknown');
  });

  it('gives a named signal its bits back from what was unclaimed', () => {
    const { why: _why, ...mine } = field('mode', 5, 4);
    const frame = frameOf({ signals: [{ ...KEY, signal: mine }] });
    expect(frame.unclaimed).toEqual([
      { lsb: { byte: 5, bit: 4 }, length: 4, order: 'little', reason: 'idle' },
      { lsb: { byte: 6, bit: 0 }, length: 8, order: 'little', reason: 'idle' },
    ]);
  });

  it('drops what a person refused', () => {
    const decisions = [
      {
        ...KEY,
        kind: 'refused' as const,
        placement: { lsb: { byte: 0, bit: 0 }, length: 8, order: 'little' as const },
      },
    ];
    expect(frameOf({ decisions }).signals.map(({ name }) => name)).toEqual(['b1', 'b2_3']);
  });

  it('keeps pages apart: a named signal on one page leaves the same bits of another page alone', () => {
    const paged = findings(
      [field('p1_b1', 1, 8, { when: { page: [1] } }), field('p2_b1', 1, 8, { when: { page: [2] } })],
      {
        selectors: [{ name: 'page', lsb: { byte: 0, bit: 0 }, length: 8, order: 'little', confidence: 1, why: '' }],
      },
    );
    const { why: _why, ...mine } = field('volts', 1, 8, { when: { page: [1] } });
    const map = assembleMap({ ...base, findings: [paged], signals: [{ ...KEY, signal: mine }] });
    expect(map.frames[0]?.signals.map(({ name }) => name)).toEqual(['volts', 'p2_b1']);
    expect(map.requires).toEqual(['when']);
  });

  it('never gives two signals of a frame one name', () => {
    const report = links(link(0, 8));
    const second = { ...report.actions[0], action: 'brake-pressed!', links: [link(1, 8)] };
    const frame = frameOf({ links: { ...report, actions: [...report.actions, second as never] } });
    expect(frame.signals.map(({ name }) => name)).toEqual(['brake_pressed', 'brake_pressed_2', 'b2_3']);
  });

  it('writes the payload at rest and leaves out what the logger sent', () => {
    const rest = [{ ...KEY, payload: '00 10', fromS: 1, toS: 3 }];
    const own = findings([], { direction: 'sent', id: '0x7E0' });
    const map = assembleMap({ ...base, rest, findings: [...base.findings, own] });
    expect(map.frames).toHaveLength(1);
    expect(map.frames[0]?.rest).toEqual({ payload: '00 10', capture: 'c1', fromS: 1, toS: 3 });
  });
});

describe('names', () => {
  it('are plain, never empty, never begin with a digit', () => {
    expect(slugOf('Brake pressed, hard!')).toBe('brake_pressed_hard');
    expect(slugOf('Türe geöffnet')).toBe('ture_geoffnet');
    expect(slugOf('12 V supply')).toBe('signal_12_v_supply');
    expect(slugOf('!!')).toBe('signal');
    expect(unusedName('a', new Set(['a', 'a_2']))).toBe('a_3');
  });
});
