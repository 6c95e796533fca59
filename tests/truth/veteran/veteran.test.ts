/** The veteran's vehicles against what is said of them: values against what went on, guards by other arithmetic, counters, pages. */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../../src/kit/random.ts';
import type { KnownStream } from '../fields-truth.ts';
import { checkOf } from './guard-work.ts';
import type { CheckRule } from './guard-style.ts';
import { movedOn, rowsOf, shareOfStates, shareShown, type Row } from './compare.ts';
import { knownOf } from './layout.ts';
import { makeParts, VETERAN_CONDITIONS, veteranDrive, type VeteranConditionName } from './make-veteran.ts';
import { bitsOf, checkValue, holdsOn, readBits, remainder } from './read-back.ts';

const NAMES = Object.keys(VETERAN_CONDITIONS) as VeteranConditionName[];
const SHORT_S = 40;

const shortOf = (name: VeteranConditionName) =>
  makeParts({ ...VETERAN_CONDITIONS[name], durationS: SHORT_S }, createRandom(`veteran test ${name}`));

const SILENCE_S = 1.2;

describe('cyclic checks of "123456789"', () => {
  // Published check values of these parameter sets (from memory): SAE J1850, AUTOSAR, SMBus, IBM 3740, ARC, ISO-HDLC, G-704.
  const base = { family: 'crc', init: 0, xorOut: 0, reflected: false, secret: 'none', secretFirst: true } as const;
  const rules: (readonly [CheckRule, number])[] = [
    [{ ...base, width: 8, poly: 0x1d, init: 0xff, xorOut: 0xff }, 0x4b],
    [{ ...base, width: 8, poly: 0x2f, init: 0xff, xorOut: 0xff }, 0xdf],
    [{ ...base, width: 8, poly: 0x07 }, 0xf4],
    [{ ...base, width: 16, poly: 0x1021, init: 0xffff }, 0x29b1],
    [{ ...base, width: 16, poly: 0x8005, reflected: true }, 0xbb3d],
    [{ ...base, width: 32, poly: 0x04c11db7, init: 0xffffffff, xorOut: 0xffffffff, reflected: true }, 0xcbf43926],
    [{ ...base, width: 4, poly: 0x3, reflected: true }, 0x7],
  ];
  it.each(rules)('%o', (rule, value) => {
    const message = [...'123456789'].map((letter) => letter.charCodeAt(0));
    expect(checkOf(rule, createRandom(1))(message)).toBe(value);
    expect(remainder(rule, message)).toBe(value);
  });
});

describe.each(NAMES)('a veteran, %s', (name) => {
  const parts = shortOf(name);
  const { trip, heard } = parts.drive('first');
  const second = parts.drive('second').heard;

  it('shows its values where it says, up to rounding and delay', () => {
    const shares = heard.flatMap((each) => {
      const rows = rowsOf(each, 7);
      const longestS = each.layout.timing.periodS * (each.layout.pager?.turn.length ?? 1);
      return each.layout.slots
        .filter(({ recipe }) => recipe.scale && recipe.quantity && !recipe.blurred)
        .map((slot) => shareShown(slot, rows, longestS, trip))
        .filter((share) => share !== null);
    });
    expect(shares.length).toBeGreaterThan(10);
    expect(shares.filter((share) => share > 0.97).length).toBeGreaterThan(0.97 * shares.length);
  });

  it('shows its states where it says', () => {
    const shares = heard.flatMap((each) => {
      const rows = rowsOf(each, 7);
      return each.layout.slots
        .filter(({ recipe }) => recipe.watches.length > 0)
        .map((slot) => shareOfStates(slot, rows, Math.min(0.1, each.layout.timing.periodS), trip))
        .filter((share) => share !== null);
    });
    expect(shares.length).toBeGreaterThan(10);
    expect(shares.filter((share) => share > 0.95).length).toBeGreaterThan(0.95 * shares.length);
  });

  it('moves no bit that is not told of, on any page, and tells of none twice', () => {
    for (const each of heard) {
      const known = knownOf(each.layout);
      const all = [...known.fields, ...known.counters, ...known.checksums, ...known.selectors];
      const pages = new Map<string, Row[]>();
      for (const row of rowsOf(each)) {
        const page = known.selectors.map(({ place }) => readBits(row.bytes, place)).join();
        const others = pages.get(page);
        if (others) others.push(row);
        else pages.set(page, [row]);
      }
      for (const rows of pages.values()) {
        const here = all.filter(({ on }) => holdsOn(rows[0]!.bytes, on)).flatMap(({ place }) => bitsOf(place));
        const selecting = new Set(known.selectors.flatMap(({ place }) => bitsOf(place)));
        const apart = here.filter((at) => !selecting.has(at));
        expect(apart.length).toBe(new Set(apart).size);
        const told = new Set([...here, ...known.cipher.flatMap(bitsOf)]);
        const untold = movedOn(rows).flatMap((moved, byte) =>
          [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => (moved >> bit) & 1 && !told.has(byte * 8 + bit)),
        );
        expect(untold).toEqual([]);
      }
    }
  });

  it('guards its frames as it says, in both drives', () => {
    for (const each of [...heard, ...second])
      for (const { rule, part, secret, counter, known } of each.layout.checks) {
        if (!rule || rule.family === 'table') continue;
        const own = new Set(bitsOf(known.place));
        for (const { bytes } of rowsOf(each, 5)) {
          const value = counter < 0 ? 0 : readBits(bytes, each.layout.counters[counter]!.known.place);
          const left = bytes
            .map((byte, at) =>
              [0, 1, 2, 3, 4, 5, 6, 7].reduce((sum, bit) => sum + (own.has(at * 8 + bit) ? 0 : byte & (1 << bit)), 0),
            )
            .filter((_, at) => at >= part.from && at < part.to && (rule.width < 8 || !own.has(at * 8)));
          const message = rule.secretFirst ? [...secret(value), ...left] : [...left, ...secret(value)];
          expect(readBits(bytes, known.place)).toBe(checkValue(rule, message));
        }
      }
  });

  it('counts as it says, but for wakes and lost frames', () => {
    for (const each of heard)
      for (const { known } of each.layout.counters) {
        const values = rowsOf(each)
          .filter(({ bytes }) => holdsOn(bytes, known.on))
          .map(({ bytes }) => readBits(bytes, known.place));
        const size = known.max + 1;
        const steps = values.slice(known.every).map((value, i) => (value - values[i]! - known.step) % size);
        expect(steps.filter((rest) => rest === 0).length).toBeGreaterThanOrEqual(0.9 * steps.length - 6 * known.every);
      }
  });

  it('has the same layout in another drive, and other payloads', () => {
    const same = heard.filter(({ layout, stream }) => {
      const other = second.find((each) => each.layout === layout && each.stream.bus === stream.bus);
      return other && Buffer.from(other.stream.payload).equals(Buffer.from(stream.payload));
    });
    expect(same.length).toBeLessThan(0.2 * heard.length);
    expect(second.length).toBeGreaterThan(0.9 * heard.length);
  });
});

describe('a veteran of one seed', () => {
  const payloads = (streams: readonly KnownStream[]): string[] =>
    streams.map(({ stream }) => Buffer.from(stream.payload).toString('base64'));
  it('is the same again', () => {
    const [one, other] = [veteranDrive('short', 5), veteranDrive('short', 5)];
    expect(payloads(one.streams)).toEqual(payloads(other.streams));
    expect(payloads(one.again())).toEqual(payloads(other.again()));
    expect(payloads(veteranDrive('short', 6).streams)).not.toEqual(payloads(one.streams));
  });

  it('stands still while it is said to stand, and goes somewhere in the other drive', () => {
    const parts = shortOf('standing');
    const fastest = (which: 'first' | 'second'): number => Math.max(...parts.drive(which).trip.columns.get('speed'));
    expect(fastest('first')).toBe(0);
    expect(fastest('second')).toBeGreaterThan(5);
  });

  it('shows at each wake what is shown of a value that is not known', () => {
    const { vehicle, drive } = shortOf('dense');
    const asleep = vehicle.modules.filter(({ wakes }) => wakes !== 'always').flatMap(({ frames }) => frames);
    const own = drive('first').heard.filter(({ layout }) => asleep.includes(layout) && layout.timing.periodS <= 0.1);
    const first = own.flatMap((each) => {
      const rows = rowsOf(each).filter(({ timeS }, i, all) => i === 0 || timeS - all[i - 1]!.timeS > SILENCE_S);
      return each.layout.slots
        .filter(({ recipe, on }) => recipe.filled !== null && recipe.fillShare >= 1 && on.length === 0)
        .flatMap(({ place, recipe }) => rows.map(({ bytes }) => readBits(bytes, place) === recipe.filled));
    });
    expect(first.length).toBeGreaterThan(20);
    expect(first.filter((is) => is).length).toBeGreaterThan(0.8 * first.length);
  });
});
