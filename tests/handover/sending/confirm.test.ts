/** Which frames go out, what is read before they do, and what is typed. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { chooseFrames, releasedKeys, whyKeptOut, whyNeverSent } from '../../../src/handover/sending/choice.ts';
import {
  confirmationPhrase,
  isConfirmed,
  sendingCautions,
  type SendingSet,
} from '../../../src/handover/sending/cautions.ts';
import { cautionText } from '../../../src/handover/sending/schedule-export.ts';
import { restMark, withMarkedRest } from '../../../src/handover/sending/marked-rest.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { aChecksum, aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import { needed } from './schedule-run.ts';

const own = aFrame({ name: 'own', id: '0x10', role: 'sent-by-part', sender: { group: 'P', name: '', confidence: 1 } });
const lamp = needed({ name: 'lamp', id: '0x20' });
const torque = needed({
  name: 'demand',
  id: '0x30',
  signals: [aSignal({ name: 'torque_request', lsb: { byte: 0, bit: 0 }, length: 8, role: 'command' })],
});
const map = aMap([own, lamp, torque]);
const withSent = (frame: MapFrame, ...moved: boolean[]): MapFrame =>
  ({ ...frame, sent: moved.map((each) => ({ kind: 'bench', capture: 'b1', trials: 2, moved: each })) }) as MapFrame;
const keys = (...names: string[]): ReadonlySet<string> => {
  const outcome = releasedKeys(map, names);
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return outcome.value;
};

describe('which frames go out', () => {
  it('none by default; each by its own name', () => {
    expect(chooseFrames(map, new Set()).going).toEqual([]);
    expect(chooseFrames(map, keys('lamp')).going.map(({ frame }) => frame.name)).toEqual(['lamp']);
    expect(chooseFrames(map, keys('can0/0x30')).going).toMatchObject([
      { because: 'released', mayCommand: ['torque_request'] },
    ]);
  });

  it('one that a bench showed harmless goes by itself, unless it may command or moved once', () => {
    const shown = aMap([own, withSent(lamp, false, false), withSent(torque, false)]);
    expect(chooseFrames(shown, new Set()).going).toMatchObject([
      { frame: { name: 'lamp' }, because: 'shown-harmless' },
    ]);
    expect(chooseFrames(aMap([own, withSent(lamp, false, true)]), new Set()).going).toEqual([]);
  });

  it.each<[string, Partial<MapFrame>, RegExp]>([
    ['what the part sends', { role: 'sent-by-part' }, /two senders/],
    ['what its sender sends', { role: 'other', sender: { group: 'P', name: '', confidence: 1 } }, /same sender/],
    ['its identifier on another bus', { role: 'unknown', id: '0x010', bus: 'can1' }, /identifier of own/],
    ['a keyed tag', { checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'mac' })] }, /secret/],
    ['nothing recorded at rest', { rest: null }, /at rest/],
  ])('never %s, and a release of it is refused', (_name, part, words) => {
    const frame = { ...needed({ name: 'it', id: '0x40' }), ...part };
    const both = aMap([own, frame]);
    expect(whyNeverSent(both, frame)).toMatch(words);
    expect(whyKeptOut(both, frame, new Set([`can0/0x40`, 'can1/0x10', 'can0/0x10']))).toMatch(words);
    const released = releasedKeys(both, ['it']);
    expect(released).toMatchObject({ ok: false, problems: [{ code: 'release-of-unsendable' }] });
  });

  it('a map that does not know its part lets nothing out but what a person called needed', () => {
    const other = aFrame({ name: 'x', id: '0x50', role: 'other' });
    expect(whyNeverSent(aMap([other]), other)).toMatch(/does not say which frames/);
    expect(whyNeverSent(aMap([other, own]), other)).toBeNull();
    expect(whyNeverSent(aMap([lamp]), lamp)).toBeNull();
  });

  it('as recorded, an unknown checksum may go out by name, a keyed tag never', () => {
    const with_ = (method: 'mac' | 'unsolved') =>
      needed({ name: 'g', id: '0x60', checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method })] });
    const form = 'as-recorded';
    expect(whyKeptOut(aMap([own, with_('unsolved')]), with_('unsolved'), new Set(['can0/0x60']), form)).toBeNull();
    expect(whyKeptOut(aMap([own, with_('unsolved')]), with_('unsolved'), new Set(), form)).toMatch(/release it/);
    expect(whyKeptOut(aMap([own, with_('mac')]), with_('mac'), new Set(['can0/0x60']), form)).toMatch(/secret/);
  });

  it('diagnostic traffic goes by name alone, whatever was shown (identifiers: ISO 15765-4)', () => {
    const shown = (id: string, extended = false) => {
      const frame = withSent(needed({ name: 'tester', id, extended }), false);
      return whyKeptOut(aMap([own, frame]), frame, new Set());
    };
    for (const id of ['0x7DF', '0x7E0', '0x7E8', '0x7EF']) expect(shown(id)).toMatch(/routines/);
    for (const id of ['0x18DA10F1', '0x18DB33F1']) expect(shown(id, true)).toMatch(/routines/);
    for (const id of ['0x7F0', '0x7DE']) expect(shown(id)).toBeNull();
    expect(shown('0x18FEDA00', true)).toBeNull();
  });

  it('a release that names nothing, or several, is refused', () => {
    expect(releasedKeys(map, ['lamps'])).toMatchObject({ ok: false, problems: [{ code: 'release-of-nothing' }] });
    const twins = aMap([own, lamp, { ...lamp, id: '0x21' }]);
    expect(releasedKeys(twins, ['lamp'])).toMatchObject({ ok: false, problems: [{ code: 'release-of-several' }] });
    expect(releasedKeys(twins, ['can0/0x21'])).toMatchObject({ ok: true });
  });
});

describe('read and typed', () => {
  const set = (part: Partial<SendingSet> = {}, ...names: string[]): SendingSet => ({
    kind: 'schedule',
    going: chooseFrames(map, keys(...names)).going,
    span: { mark: 'at rest#1', fromS: 3, toS: 9 },
    ...part,
  });

  it('the phrase names what may command and the part, and changes with anything of the set', () => {
    const phrase = confirmationPhrase(map, set({}, 'lamp', 'demand'));
    expect(phrase).toMatch(
      /^send demand, which may command, and 1 other frame to Pump inverter of a harbour tender [a-z]{4}$/,
    );
    const others = [
      confirmationPhrase(map, set({}, 'lamp')),
      confirmationPhrase(map, set({}, 'demand')),
      confirmationPhrase(map, set({ kind: 'log' }, 'lamp', 'demand')),
      confirmationPhrase(map, set({ kind: 'log', loops: 2 }, 'lamp', 'demand')),
      confirmationPhrase(map, set({ span: { mark: 'at rest#1', fromS: 3, toS: 9.5 } }, 'lamp', 'demand')),
      confirmationPhrase({ ...map, part: { ...map.part, title: 'Another' } }, set({}, 'lamp', 'demand')),
    ];
    expect(new Set([phrase, ...others]).size).toBe(7);
  });

  it('is confirmed by the phrase alone, blanks and capitals apart', () => {
    const phrase = confirmationPhrase(map, set({}, 'lamp'));
    expect(isConfirmed(`  ${phrase.toUpperCase().replaceAll(' ', '   ')}\n`, phrase)).toBe(true);
    for (const no of ['', 'yes', phrase.slice(0, -1), `${phrase} x`, phrase.replace('lamp', 'lamps')])
      expect(isConfirmed(no, phrase), no).toBe(false);
    expect(isConfirmed('', '')).toBe(false);
  });

  it('can be typed whatever the map calls things', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), fc.string({ unit: 'binary' }), (title, name) => {
        const strange = aMap([own, { ...lamp, name }], { part: { title, donor: '', notes: '' } });
        const going = chooseFrames(strange, new Set(['can0/0x20'])).going;
        const phrase = confirmationPhrase(strange, { kind: 'log', going, span: null });
        expect(phrase).toMatch(/^[A-Za-z0-9 .,_-]+$/);
        expect(isConfirmed(phrase, phrase)).toBe(true);
      }),
    );
  });

  it('cautions are one line each, whatever the map calls things', () => {
    const name = 'a\nb\u001b[2J\u202ec\u2028d\r\te';
    const strange = aMap([own, { ...lamp, name }], { part: { title: name, donor: '', notes: '' } });
    const going = chooseFrames(strange, new Set(['can0/0x20'])).going;
    const lines = sendingCautions(strange, { kind: 'log', going, span: { mark: name, fromS: 0, toS: 1 } });
    expect(lines.join('')).toContain('a b [2J c d e (can0/0x20)');
    for (const line of lines) expect(line).not.toMatch(/[\p{Cc}\p{Cf}\p{Zl}]/u);
    expect(cautionText(lines).trimEnd().split('\n')).toHaveLength(lines.length + 2);
  });

  it('cautions tell again what may command, what nobody showed harmless, and what a loop does', () => {
    const text = sendingCautions(map, set({ kind: 'log', loops: 1, unwatched: ['pedal'] }, 'lamp', 'demand')).join(
      '\n',
    );
    expect(text).toMatch(/THIS SENDS 2 frames/);
    expect(text).toMatch(/demand \(can0\/0x30\) MAY COMMAND.*torque_request; you released it by name/);
    expect(text).toMatch(/no bench trial has shown harmless/i);
    expect(text).toMatch(/a broken counter is often worse than silence/);
    expect(text).toMatch(/Nothing in the map tells that no pedal was touched: only the mark says so/);
    expect(text).toMatch(/High voltage/);
    expect(sendingCautions(map, set({}, 'lamp')).join('\n')).not.toMatch(/MAY COMMAND|as recorded/);
  });
});

it('a payload at rest tells the mark that it was taken under', () => {
  expect(restMark(aFrame())).toBeNull();
  const payload = { bus: 'can0', id: '0x20', extended: false, payload: '01 02 03 04 05 06 07 08', fromS: 2, toS: 3 };
  const marked = withMarkedRest(map, [payload], 'c2', 'at rest#1');
  expect(marked.frames.map(restMark)).toEqual([null, 'at rest#1', 'at rest']);
  expect(marked.frames[1]?.rest).toMatchObject({ payload: '01 02 03 04 05 06 07 08', capture: 'c2', fromS: 2, toS: 3 });
  expect(map.frames[1]?.rest?.payload).toBe('00 00 00 00 00 00 00 00');
});

describe('a signal that is sent at another value than at rest', () => {
  const set = (value: number | null): SendingSet => ({
    kind: 'schedule',
    going: chooseFrames(map, keys('lamp')).going,
    span: null,
    varied: value === null ? null : { name: 'lamp.brightness', value },
  });

  it('is named in what is read and in what is typed, with its value; another value is another phrase', () => {
    expect(sendingCautions(map, set(5))).toContain('THIS SETS lamp.brightness to 5: it is not sent as at rest.');
    expect(confirmationPhrase(map, set(5))).toMatch(/^send lamp with lamp\.brightness at 5 to /);
    expect(isConfirmed(confirmationPhrase(map, set(5)), confirmationPhrase(map, set(6)))).toBe(false);
    expect(isConfirmed(confirmationPhrase(map, set(null)), confirmationPhrase(map, set(5)))).toBe(false);
    expect(sendingCautions(map, set(null)).join(' ')).not.toContain('THIS SETS');
  });
});
