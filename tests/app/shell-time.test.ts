/** The one time scale, the view's window, the address, and the clocks of marks: plain functions, held without a page. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { barStep, figureDigits, figureStep, timeScale } from '../../src/app/shell/time-scale.ts';
import { within } from '../../src/app/stores/view.ts';
import { parseAddress, parseStreamName, printAddress } from '../../src/app/stores/address.ts';
import { fromRuler, marksClock, onRuler, toRuler } from '../../src/app/stores/marks-clock.ts';
import { streamName } from '../../src/frames/table.ts';
import type { CaptureSummary } from '../../src/jobs/engine-types.ts';
import { bytes, clock, duration, period, signed, value } from '../../src/kit/sheet-figures.ts';
import { parseSeconds } from '../../src/app/words/parse-seconds.ts';

describe('time scale', () => {
  test('pixels and seconds are each other’s inverse', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e4, max: 1e6, noNaN: true }),
        fc.double({ min: 0.01, max: 1e5, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (fromS, length, share) => {
          const scale = timeScale({ fromS, toS: fromS + length }, 680);
          const atS = fromS + share * length;
          expect(Math.abs(scale.at(scale.x(atS)) - atS)).toBeLessThan(length * 1e-6 + 1e-6);
        },
      ),
    );
  });

  test('bars are 20 px or more and at most 60 for spans of one second to a day', () => {
    for (let span = 1; span < 86_400; span *= 1.37) {
      const pixels = (barStep(span, 680) / span) * 680;
      expect(pixels).toBeGreaterThanOrEqual(20);
      expect(pixels).toBeLessThanOrEqual(61);
    }
  });

  test('figures are whole bars apart and have room', () => {
    for (let span = 0.05; span < 86_400; span *= 1.37) {
      const bar = barStep(span, 680);
      const figure = figureStep(span, 680, 64);
      expect(figure / bar).toBeCloseTo(Math.round(figure / bar), 6);
      expect((figure / span) * 680).toBeGreaterThanOrEqual(40);
    }
    expect(figureDigits(0.5)).toBe(1);
    expect(figureDigits(10)).toBe(0);
  });

  test('a window is always within the domain and keeps its length where it can', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -50, max: 150, noNaN: true }),
        fc.double({ min: 0.01, max: 300, noNaN: true }),
        (fromS, length) => {
          const window = within({ fromS: 0, toS: 100 }, fromS, fromS + length);
          expect(window.fromS).toBeGreaterThanOrEqual(-1e-9);
          expect(window.toS).toBeLessThanOrEqual(100 + 1e-9);
          expect(window.toS - window.fromS).toBeCloseTo(Math.min(100, length), 6);
        },
      ),
    );
  });
});

describe('address', () => {
  test('streams survive their name', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('can0', 'body/rear', 'vcan 1'),
        fc.nat(0x1fffffff),
        fc.boolean(),
        fc.boolean(),
        (bus, id, extended, sent) => {
          const key = { bus, id, extended, direction: sent ? ('sent' as const) : ('received' as const) };
          expect(parseStreamName(streamName(key))).toEqual(key);
        },
      ),
    );
    expect(parseStreamName('can0/speed')).toBeNull();
  });

  test('what is printed is read back; nonsense is nothing', () => {
    const hash = printAddress({
      place: 'payloads',
      captureId: 'c2',
      cursorS: 107.62,
      window: { fromS: 38, toS: 168 },
      domain: { fromS: 0, toS: 412 },
      selection: {
        stream: { bus: 'can0', id: 0x1f4, extended: false, direction: 'received' },
        placement: null,
        action: null,
        mark: null,
        signal: null,
      },
    } as Parameters<typeof printAddress>[0]);
    expect(hash).toBe('#payloads?capture=c2&from=38.000&to=168.000&at=107.620&id=can0/0x1F4');
    expect(parseAddress(hash)).toMatchObject({
      place: 'payloads',
      captureId: 'c2',
      fromS: 38,
      toS: 168,
      atS: 107.62,
      stream: { id: 0x1f4 },
    });
    expect(parseAddress('#nowhere?from=x')).toEqual({
      place: null,
      captureId: null,
      against: null,
      proofAsks: 'holds',
      fromS: null,
      toS: null,
      atS: null,
      stream: null,
    });
  });
  test('what a map is held against, and what Proof is asked, go with it', () => {
    const hash = '#proof?capture=c1&against=c2&asks=weak';
    const view = { place: 'proof', captureId: 'c1', against: 'c2', proofAsks: 'weak', cursorS: null };
    const span = { fromS: 0, toS: 9 };
    const selection = { stream: null, placement: null, action: null, mark: null, signal: null };
    const printed = printAddress({ ...view, window: span, domain: span, selection } as Parameters<
      typeof printAddress
    >[0]);
    expect(printed).toBe(hash);
    expect(parseAddress(printed)).toMatchObject({ place: 'proof', captureId: 'c1', against: 'c2', proofAsks: 'weak' });
  });
});

describe('the clock of marks', () => {
  const summary = (kind: 'epoch' | 'relative', text: string): CaptureSummary =>
    ({ origin: { kind, text } }) as CaptureSummary;
  const mark = { action: 'a', startS: 1_700_000_012.5, endS: 1_700_000_014 };
  const marks = [{ ...mark, key: 'k' }];

  test('epoch marks on an epoch capture: origin off, offset on (capture time = mark time + offset)', () => {
    const clockOf = marksClock(
      { marks, markTimeBase: 'epoch', markOffset: -2.5 },
      summary('epoch', '1700000000.0'),
      null,
    );
    expect(onRuler(mark, clockOf).startS).toBeCloseTo(10, 6);
    expect(onRuler(mark, clockOf).endS).toBeCloseTo(11.5, 6);
  });

  test('an offset found counts only while it is left to be found', () => {
    const found = marksClock({ marks, markTimeBase: 'epoch', markOffset: 'auto' }, summary('epoch', '1700000000.0'), {
      offsetS: -1,
    });
    expect(onRuler(mark, found).startS).toBeCloseTo(11.5, 6);
    const given = marksClock({ marks, markTimeBase: 'epoch', markOffset: 0 }, summary('epoch', '1700000000.0'), {
      offsetS: -1,
    });
    expect(onRuler(mark, given).startS).toBeCloseTo(12.5, 6);
  });

  test('a clock that drifts is straightened on the ruler, and marks moved there by hand go back to it', () => {
    const drift = { ppm: 2000, sePpm: 100, overS: 500, middleS: 500 };
    const clockOf = marksClock({ marks, markTimeBase: 'epoch', markOffset: 'auto' }, summary('epoch', '1700000000.0'), {
      offsetS: -1,
      drift,
    });
    expect(onRuler(mark, clockOf).startS).toBeCloseTo(11.5 + 0.977, 6);
    expect(fromRuler(toRuler(mark.startS, clockOf), clockOf)).toBeCloseTo(mark.startS, 6);
  });

  test('clocks that share no zero: first mark on first frame, until the whole difference is known', () => {
    const unknown = marksClock({ marks, markTimeBase: 'epoch', markOffset: 'auto' }, summary('relative', '3.2'), null);
    expect(onRuler(mark, unknown).startS).toBe(0);
    const known = marksClock({ marks, markTimeBase: 'epoch', markOffset: 'auto' }, summary('relative', '3.2'), {
      offsetS: -1_700_000_000,
    });
    expect(onRuler(mark, known).startS).toBeCloseTo(12.5, 6);
  });

  test('without a recording the ruler starts at the first mark; capture times stand as they are', () => {
    expect(onRuler(mark, marksClock({ marks, markTimeBase: 'epoch', markOffset: 'auto' }, null, null)).startS).toBe(0);
    expect(
      marksClock({ marks, markTimeBase: 'capture', markOffset: 0 }, summary('epoch', '1700000000'), null).shiftS,
    ).toBe(0);
  });
});

describe('figures', () => {
  test('clock, duration, sizes and periods as the sheet prints them', () => {
    expect(clock(107.62)).toBe('1:47.62');
    expect(clock(59.999, 1)).toBe('1:00.0');
    expect(clock(3725, 0)).toBe('1:02:05');
    expect(clock(-3.5, 1)).toBe('−0:03.5');
    expect(duration(412)).toBe('6 min 52 s');
    expect(duration(0.4)).toBe('0.4 s');
    expect(bytes(28e6)).toBe('28.0 MB');
    expect(period(10)).toBe('10 ms');
    expect(period(0.84)).toBe('0.8 ms');
    expect(period(1500)).toBe('1.5 s');
    expect(period(null)).toBe('on change');
    expect(signed(-2.84, 2)).toBe('−2.84');
    expect(signed(16.3, 1)).toBe('+16.3');
    expect(value(0.00568)).toBe('0.00568');
    expect(value(5200)).toBe('5,200');
    expect(value(-3)).toBe('−3');
  });

  test('times typed by hand: seconds, minutes and hours, comma and true minus; nothing else', () => {
    expect(parseSeconds('0:29.5')).toBe(29.5);
    expect(parseSeconds('1:02:05')).toBe(3725);
    expect(parseSeconds('−2,5')).toBe(-2.5);
    expect(parseSeconds('')).toBeNull();
    expect(parseSeconds('soon')).toBeNull();
  });
});
