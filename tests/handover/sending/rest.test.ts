/** Which spans may be taken: by the marks, by the frames, by what was asked for. */
import { describe, expect, it } from 'vitest';
import type { Mark } from '../../../src/actions/types.ts';
import { FrameBuilder } from '../../../src/frames/builder.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { chooseSpan, parseSpan } from '../../../src/handover/sending/asked-span.ts';
import { checkRest } from '../../../src/handover/sending/rest-check.ts';
import { restMarks } from '../../../src/handover/sending/rest-spans.ts';
import { saysAtRest, saysPedal } from '../../../src/handover/sending/rest-words.ts';
import type { MapSignal } from '../../../src/map/schema.ts';
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';

const mark = (action: string, startS: number, endS: number | null = null, value?: string): Mark => ({
  action,
  startS,
  endS,
  ...(value ? { value } : {}),
});
const why = (marks: readonly Mark[], durationS = 100): string | null | undefined =>
  restMarks(marks, durationS)[0]?.refused;

describe('words', () => {
  it.each(['at rest', 'At rest (park, no pedal, not charging)', 'parked', 'car parked', 'in park', 'Rest', 'resting'])(
    '"%s" says at rest',
    (words) => expect(saysAtRest(mark(words, 0, 9))).toBe(true),
  );
  it.each([
    'not at rest',
    'never parked',
    'brake pressed',
    'restart',
    'selector moved',
    'parking brake pulled',
    'arrest',
    'driving',
  ])('"%s" does not', (words) => expect(saysAtRest(mark(words, 0, 9))).toBe(false));
  it('a parking brake is no pedal, a brake is', () => {
    expect(saysPedal(mark('parking brake pulled', 0))).toBe(false);
    expect(saysPedal(mark('handbrake', 0))).toBe(false);
    expect(saysPedal(mark('brake_pressed', 0))).toBe(true);
    expect(saysPedal(mark('pedal', 0))).toBe(true);
    expect(saysPedal(mark('no pedal touched', 0))).toBe(false);
  });
});

describe('marks', () => {
  const rest = mark('at rest', 10, 20);

  it('a span marked at rest loses a margin at both ends', () => {
    const [found] = restMarks([rest, mark('door opened', 12, 14), mark('brake pressed', 1, 3)], 100);
    expect(found).toMatchObject({ action: 'at rest', number: 1, refused: null });
    expect(found?.inner.fromS).toBeGreaterThan(10.1);
    expect(found?.inner.toS).toBeLessThan(19.6);
  });

  it.each<[string, readonly Mark[], RegExp]>([
    ['an instant', [mark('at rest', 10)], /instant/],
    ['too short', [mark('at rest', 10, 11.5)], /too short/],
    ['before the capture', [mark('at rest', -2, 8)], /outside the capture/],
    ['beyond the capture', [mark('at rest', 95, 101)], /outside the capture/],
    ['a pedal within it', [rest, mark('accelerator pressed', 14, 15)], /accelerator pressed.*14\.00/],
    ['a pedal held over all of it', [rest, mark('brake pressed', 5, 30)], /brake pressed/],
    ['a pedal that ends within it', [rest, mark('brake pressed', 8, 10.4)], /brake pressed/],
    ['a paddle as an instant', [rest, mark('regen paddle', 12)], /paddle/],
    ['the selector engaged within it', [rest, mark('selector moved', 15, null, 'D')], /selector moved: D/],
    ['charging before and on', [mark('plug inserted', 2), rest], /charging/],
    ['charging within it', [rest, mark('charging cable plugged in', 12, 18)], /charging/],
    ['its own words', [mark('at rest, foot on the brake', 10, 20)], /own words.*pedal/],
    ['its own words of charging', [mark('parked and charging', 10, 20)], /own words.*charging/],
  ])('refuses %s', (_name, marks, words) => expect(why(marks)).toMatch(words));

  it('charging that ended is over, and so is a drive', () => {
    expect(why([mark('plug inserted', 1, 8), rest])).toBeNull();
    expect(why([mark('selector moved', 1, null, 'D'), mark('accelerator pressed', 2, 4), rest])).toBeNull();
  });

  it('numbers those with the same words', () => {
    const marks = restMarks([mark('at rest', 30, 40), rest, mark('parked', 50, 60)], 100);
    expect(marks.map(({ action, number, fromS }) => [action, number, fromS])).toEqual([
      ['at rest', 1, 10],
      ['at rest', 2, 30],
      ['parked', 1, 50],
    ]);
  });
});

describe('what was asked for', () => {
  const marks = restMarks([mark('at rest', 10, 20), mark('at rest', 30, 40), mark('brake pressed', 12, 13)], 100);
  const asked = (text: string, originText: string | null = null) => chooseSpan(parseSpan(text), marks, originText);
  const code = (text: string) => {
    const outcome = asked(text);
    return outcome.ok ? 'good' : outcome.problems[0].code;
  };

  it('by words: the first that may be taken, or that of a number', () => {
    expect(asked('AT REST')).toMatchObject({ ok: true, value: { mark: 'at rest#2' } });
    expect(asked('at rest#2')).toMatchObject({ ok: true, value: { mark: 'at rest#2' } });
    expect(code('at rest#1')).toBe('rest-mark-refused');
    expect(code('at rest#3')).toBe('no-such-rest-mark');
    expect(code('brake pressed')).toBe('no-such-rest-mark');
  });

  it('by seconds: within one mark and clear of its margins', () => {
    expect(asked('31:38.5')).toMatchObject({ ok: true, value: { fromS: 31, toS: 38.5, mark: 'at rest#2' } });
    expect(code('30:38')).toBe('span-within-margin');
    expect(code('31:39.9')).toBe('span-within-margin');
    expect(code('25:35')).toBe('span-not-marked-at-rest');
    expect(code('14:16')).toBe('rest-mark-refused');
    expect(code('35:35')).toBe('empty-span');
  });

  it('by epoch seconds where the capture counts so', () => {
    const outcome = asked('1773042030.6:1773042032', '1773042000.5');
    expect(outcome).toMatchObject({ ok: false });
    expect(asked('1773042032:1773042033', '1773042000.5')).toMatchObject({
      ok: true,
      value: { fromS: 31.5, toS: 32.5 },
    });
  });

  it('without any mark of rest nothing may be taken', () => {
    const outcome = chooseSpan(parseSpan('1:2'), [], null);
    expect(outcome).toMatchObject({ ok: false, problems: [{ code: 'no-rest-mark' }] });
  });
});

describe('what the frames say', () => {
  /** A byte a second of one signal, from 0 s on. */
  function checked(signal: Partial<MapSignal>, bytes: readonly number[], span = { fromS: 2.5, toS: 5.5 }) {
    const builder = new FrameBuilder();
    const slot = builder.slot(builder.busIndex('can0'), 0x123, false, false);
    bytes.forEach((byte, i) => builder.add(slot, i * 1e6, Uint8Array.of(byte, 0, 0, 0, 0, 0, 0, 0), 0, 8, 0));
    const table: FrameTable = builder.finish({
      files: () => [],
      origin: () => ({ kind: 'epoch', text: '1773042000.0' }),
    });
    const frame = aFrame({ signals: [aSignal({ lsb: { byte: 0, bit: 0 }, length: 8, ...signal })] });
    return checkRest(table, aMap([frame]), span);
  }
  const selector = { name: 'selector', kind: 'states' as const, states: { '0': 'park', '1': 'drive', '2': 'reverse' } };

  it('agree, and count for their topic', () => {
    const check = checked(selector, [1, 1, 0, 0, 0, 0, 1, 1]);
    expect(check.against).toBeNull();
    // The value as the span begins is the one of 2 s.
    expect(check.witnesses).toEqual([{ topic: 'selector', name: 'frame_123.selector', n: 4 }]);
    expect(check.unwatched).toEqual(['pedal', 'charging', 'motion']);
  });

  it.each<[string, Partial<MapSignal>, readonly number[], RegExp]>([
    ['drive as it begins', selector, [0, 0, 1, 0, 0, 0], /selector is drive, not park at 2\.00 s/],
    ['drive within', selector, [0, 0, 0, 0, 1, 0], /at 4\.00 s/],
    ['a place without a name', selector, [0, 0, 0, 9, 0, 0], /is 9, not park/],
    [
      'a pedal',
      { name: 'accelerator', unit: '%', observed: { min: 0, max: 200 } },
      [0, 0, 0, 0, 0, 11],
      /accelerator reads 11 % at 5\.00 s/,
    ],
    [
      'a pressed flag',
      { name: 'brake_pressed', kind: 'flag', observed: { min: 0, max: 1 } },
      [0, 0, 0, 1, 0, 0],
      /brake_pressed/,
    ],
    [
      'a pedal by states',
      { name: 'brake pedal', kind: 'states', states: { '0': 'released', '1': 'pressed' } },
      [0, 0, 1, 0, 0, 0],
      /is pressed/,
    ],
    [
      'charging',
      { name: 'plug_state', kind: 'states', states: { '0': 'none', '3': 'charging' } },
      [0, 0, 0, 3, 0, 0],
      /plug_state is charging/,
    ],
    ['a charging current', { name: 'charge_current', unit: 'A' }, [0, 0, 0, 9, 0, 0], /charge_current reads 9 A/],
    [
      'the mode',
      { name: 'vehicle_mode', kind: 'states', states: { '3': 'ready', '4': 'driving' } },
      [3, 3, 3, 4, 3, 3],
      /is driving/,
    ],
    [
      'motion',
      { name: 'wheel_speed', unit: 'km/h', observed: { min: 0, max: 100 } },
      [0, 0, 0, 3, 0, 0],
      /wheel_speed reads 3 km\/h/,
    ],
  ])('%s speaks against it', (_name, signal, bytes, words) => {
    const check = checked(signal, bytes);
    expect(check.against).toMatch(words);
    expect(check.against).toMatch(/a guess of the map/);
  });

  it.each<[string, Partial<MapSignal>, readonly number[]]>([
    ['a state of charge', { name: 'state_of_charge', unit: '%' }, [60, 60, 60, 60, 60, 60]],
    ['a charge limit', { name: 'charge_limit', unit: 'A' }, [60, 60, 60, 60, 60, 60]],
    ['a brake lamp', { name: 'brake_lamp', kind: 'flag' }, [1, 1, 1, 1, 1, 1]],
    ['a fan speed', { name: 'fan_speed', unit: 'rpm' }, [90, 90, 90, 90, 90, 90]],
    [
      'no plug',
      { name: 'plug_state', kind: 'states', states: { '0': 'unplugged', '1': 'not connected', '3': 'charging' } },
      [0, 0, 1, 1, 0, 0],
    ],
    [
      'what says that there is no value',
      { ...selector, invalid: [{ from: 15, to: 15, meaning: 'none' }] },
      [0, 0, 15, 15, 15, 15],
    ],
    ['what comes after the span', selector, [0, 0, 0, 0, 0, 0, 1, 1]],
  ])('%s does not', (_name, signal, bytes) => expect(checked(signal, bytes).against).toBeNull());
});
