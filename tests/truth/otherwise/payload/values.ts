/** Values as they are sent: what is shown of a source, how it is rounded, held, limited and coded, and what is sent where there is none yet. */
import type { Random } from '../../../../src/kit/random.ts';
import type { KnownCoding, KnownField } from '../../fields-truth.ts';
import { goesBothWays, STEP_S, type SourceColumn, type SourcePlan } from './sources.ts';

export interface ValuePlan {
  readonly length: number;
  readonly coding: KnownCoding;
  readonly kind: KnownField['kind'];
  readonly model: string;
  /** The source it shows; null: nothing else shows it. */
  readonly quantity: string | null;
  /** What it is tied to closely without showing the same. */
  readonly kin: string | null;
  /** It has noise or a dead band of its own. */
  readonly blurred: boolean;
  /** [rows] unsigned raw values on the frames sent at these seconds. */
  readonly run: (random: Random, timesS: Float64Array, sources: readonly SourceColumn[]) => Float64Array;
}

const SHOWS_ITSELF = { quantity: null, kin: null, blurred: false } as const;
const top = (length: number): number => 2 ** length - 1;

/** A half-precision number, IEEE 754-2008 binary16, rounded towards zero; small ones become zero. */
function halfOf(value: number): number {
  const sign = value < 0 ? 0x8000 : 0;
  const size = Math.abs(value);
  if (size < 2 ** -14) return sign;
  const power = Math.min(15, Math.floor(Math.log2(size)));
  return sign | ((power + 15) << 10) | Math.min(1023, Math.floor((size / 2 ** power - 1) * 1024));
}

const view = new DataView(new ArrayBuffer(4));
function singleOf(value: number): number {
  view.setFloat32(0, value);
  return view.getUint32(0);
}

function decimalDigits(value: number, digits: number): number {
  let [rest, raw] = [Math.round(value), 0];
  for (let digit = 0; digit < digits; digit++) {
    raw += (rest % 10) * 16 ** digit;
    rest = Math.floor(rest / 10);
  }
  return raw;
}

interface Showing {
  readonly source: number;
  readonly delayS: number;
  readonly noise: number;
  readonly refresh: number;
  readonly deadBand: number;
  readonly rate: number;
  readonly coarse: number;
  readonly low: number;
  readonly high: number;
}

/** Of the source's unit: most values are smooth, some noisy, held, coarse, limited in rate or cut off. */
function drawShowing(random: Random, source: number, length: number): Showing {
  const reach = 2 ** -random.pick([0, 0, 0.3, 1, 2]);
  const cut = random.next() < 0.1 ? 1.25 : 1;
  return {
    source,
    delayS: random.next() < 0.3 ? random.between(0, 0.2) : 0,
    noise: random.next() < 0.4 ? 10 ** random.between(-3.5, -1.7) : 0,
    refresh: random.next() < 0.3 ? 2 + random.below(9) : 1,
    deadBand: random.next() < 0.12 ? 10 ** random.between(-2.5, -1.2) : 0,
    rate: random.next() < 0.1 ? 10 ** random.between(-2.5, -1.5) : Infinity,
    coarse: length > 7 && random.next() < 0.12 ? random.pick([2, 4, 5, 10]) : 1,
    low: random.next() < 0.75 ? 0 : random.between(0, 1 - reach),
    high: reach * cut,
  };
}

/** [rows] what is shown of the source, in its unit. */
function show(showing: Showing, random: Random, timesS: Float64Array, sources: readonly SourceColumn[]): Float64Array {
  const column = sources[showing.source] as SourceColumn;
  const out = new Float64Array(timesS.length);
  let shown = Number.NaN;
  timesS.forEach((timeS, row) => {
    if (row % showing.refresh === 0 || row === 0) {
      const at = Math.max(0, Math.min(column.length - 1, Math.floor((timeS - showing.delayS) / STEP_S)));
      const next = (column[at] as number) + showing.noise * random.normal();
      const by = Math.max(-showing.rate, Math.min(showing.rate, next - shown));
      if (Number.isNaN(shown)) shown = next;
      else if (Math.abs(next - shown) > showing.deadBand) shown += by;
    }
    out[row] = shown;
  });
  return out;
}

type Style = 'plain' | 'two' | 'offset' | 'sign-magnitude' | 'single' | 'half' | 'decimal';

function rawOf(style: Style, unit: number, length: number, { low, high, coarse }: Showing, room: number): number {
  const most = top(length);
  const whole = (value: number): number => Math.round(value / coarse) * coarse;
  const half = 2 ** (length - 1);
  switch (style) {
    case 'plain':
      return Math.max(0, Math.min(most - room, whole((low + high * unit) * most)));
    case 'offset':
      return Math.max(0, Math.min(most - room, whole(half + high * unit * half)));
    case 'two': {
      const value = Math.max(-half + room, Math.min(half - 1, whole(high * unit * half)));
      return value < 0 ? value + 2 * half : value;
    }
    case 'sign-magnitude': {
      const size = Math.min(half - 1 - room, Math.abs(whole(high * unit * half)));
      return size + (unit < 0 && size > 0 ? half : 0);
    }
    case 'single':
      return singleOf(unit * high * 400);
    case 'half':
      return halfOf(unit * high * 100);
    case 'decimal':
      return decimalDigits(Math.max(0, Math.min(1, low + high * unit)) * (10 ** (length / 4) - 1), length / 4);
  }
}

const CODINGS: Record<Style, KnownCoding> = {
  plain: 'unsigned',
  offset: 'unsigned',
  two: 'signed',
  'sign-magnitude': 'sign-magnitude',
  single: 'float',
  half: 'float',
  decimal: 'bcd',
};

export interface ValueHabits {
  readonly negative: 'two' | 'offset' | 'sign-magnitude';
  readonly rich: boolean;
  /** What stands for "no data", from all ones down; 0: nothing does. */
  readonly noData: 0 | 1 | 2;
}

function styleOf(random: Random, habits: ValueHabits, bothWays: boolean): Style {
  if (habits.rich && random.next() < 0.2) return random.pick(['single', 'half'] as const);
  if (bothWays) return habits.negative;
  return random.next() < (habits.rich ? 0.12 : 0.03) ? 'decimal' : 'plain';
}

const WIDTHS = [5, 6, 7, 8, 8, 8, 9, 10, 10, 11, 12, 12, 12, 13, 14, 15, 16, 16, 16, 18, 20, 24];
const widthOf = (random: Random, style: Style): number =>
  style === 'single'
    ? 32
    : style === 'half'
      ? 16
      : style === 'decimal'
        ? random.pick([8, 8, 12, 16])
        : random.pick(WIDTHS);

export function drawNumber(random: Random, plans: readonly SourcePlan[], habits: ValueHabits): ValuePlan {
  const source = random.below(plans.length);
  const plan = plans[source] as SourcePlan;
  const style = styleOf(random, habits, goesBothWays(plan));
  const length = widthOf(random, style);
  const showing = drawShowing(random, source, length);
  const room = habits.noData;
  const drops = room > 0 && random.next() < 0.15;
  const slow = plan.habit === 'draining' || plan.habit === 'warming';
  return {
    length,
    coding: CODINGS[style],
    kind: 'number',
    model: [plan.habit, style, ...spoken(showing)].join(' '),
    // What may move only so fast is no longer the source but something that follows it.
    quantity: showing.rate < Infinity ? null : `source ${source}`,
    kin: `source ${source}`,
    blurred: showing.noise > 0 || showing.deadBand > 0,
    run: (own, timesS, sources) => {
      const shown = show(slow ? { ...showing, noise: showing.noise / 10 } : showing, own, timesS, sources);
      const raw = shown.map((unit) => rawOf(style, unit, length, showing, room));
      return drops && style === 'plain' ? withDrops(raw, own, top(length) - (room - 1)) : raw;
    },
  };
}

/** A sensor that is gone for a while. */
function withDrops(raw: Float64Array, random: Random, filling: number): Float64Array {
  const from = Math.floor(random.between(0.2, 0.8) * raw.length);
  return raw.fill(filling, from, from + Math.ceil(raw.length * random.between(0.01, 0.05)));
}

function spoken({ noise, refresh, deadBand, rate, coarse }: Showing): string[] {
  return [
    ...(noise > 0 ? ['noisy'] : []),
    ...(refresh > 1 ? ['held'] : []),
    ...(deadBand > 0 ? ['dead band'] : []),
    ...(rate < Infinity ? ['rate limited'] : []),
    ...(coarse > 1 ? ['coarse'] : []),
  ];
}

/** A value that moves a handful of times in a drive. */
export function drawSeldom(random: Random): ValuePlan {
  const length = random.pick([4, 6, 7, 8, 10, 12, 16]);
  const moves = 2 + random.below(9);
  const near = random.next() < 0.6;
  return {
    length,
    coding: 'unsigned',
    kind: 'number',
    model: near ? 'seldom, small steps' : 'seldom, any step',
    ...SHOWS_ITSELF,
    run: (own, timesS) => {
      let value = Math.floor(own.between(0.1, 0.8) * top(length));
      return timesS.map(() => {
        if (own.next() < moves / timesS.length)
          value = near ? Math.max(0, value + own.pick([-1, 1, 1])) : own.below(top(length));
        return value;
      });
    },
  };
}

/** Odometer, clock of tenths or of a free-running timer: they only go up. */
export function drawRising(random: Random, periodMs: number): ValuePlan {
  const style = random.pick(['odometer', 'clock', 'timer'] as const);
  const length = style === 'timer' ? random.pick([12, 16, 24]) : random.pick([8, 12, 16, 20, 24]);
  const unitS =
    style === 'timer' ? 0.0001 * (1 + random.below(4)) : Math.max(0.1, (periodMs / 1000) * random.pick([4, 7, 20]));
  return {
    length,
    coding: 'unsigned',
    kind: 'number',
    model: style,
    quantity: null,
    kin: style === 'odometer' ? null : 'time',
    blurred: false,
    run: (own, timesS) => {
      const start = own.below(2 ** Math.min(30, length));
      let [speed, way] = [0.5, 0];
      return timesS.map((timeS, row) => {
        const elapsed = row > 0 ? timeS - (timesS[row - 1] as number) : 0;
        speed = Math.max(0, Math.min(1, speed + 0.05 * own.normal() * Math.sqrt(elapsed)));
        way += style === 'odometer' ? speed * elapsed : elapsed;
        return (start + Math.floor(way / unitS)) % 2 ** length;
      });
    },
  };
}

/** A machine that goes from state to state by a table, dwelling in each. */
export function drawStates(random: Random): ValuePlan {
  const length = random.pick([2, 2, 3, 3, 4, 4, 5]);
  const count = 3 + random.below(Math.min(5, 2 ** length - 2));
  const codes = random.shuffle(Array.from({ length: 2 ** length }, (_, code) => code)).slice(0, count);
  if (random.next() < 0.6) codes.sort((a, b) => a - b);
  const next = codes.map((_, index) => [(index + 1) % count, random.below(count)]);
  const dwellS = 10 ** random.between(0.2, 1.3);
  return {
    length,
    coding: 'unsigned',
    kind: 'states',
    model: 'state machine',
    ...SHOWS_ITSELF,
    run: (own, timesS) => {
      let state = 0;
      return timesS.map((timeS, row) => {
        const elapsed = row > 0 ? timeS - (timesS[row - 1] as number) : 0;
        if (own.next() < elapsed / dwellS) state = (next[state] as number[])[own.next() < 0.7 ? 0 : 1] as number;
        return codes[state] as number;
      });
    },
  };
}

/** Flags side by side: some switch by one event, and now and then each by itself. */
export function drawFlags(random: Random): ValuePlan[] {
  const count = 2 + random.below(6);
  const event = random.next() < 0.7;
  const key = `event ${random.below(2 ** 30)}`;
  const [eventS, ownS] = [10 ** random.between(0.5, 1.2), 10 ** random.between(0.6, 1.6)];
  return Array.from({ length: count }, (_, index): ValuePlan => {
    const together = event && random.next() < 0.5;
    return {
      length: 1,
      coding: 'unsigned',
      kind: 'flag',
      model: together ? 'flag with others' : 'flag',
      quantity: null,
      kin: together ? key : null,
      blurred: false,
      run: (own, timesS) => {
        const shared = own.fork(key);
        const alone = own.fork(`${key} ${index}`);
        let set = alone.next() < 0.3 ? 1 : 0;
        return timesS.map((timeS, row) => {
          const elapsed = row > 0 ? timeS - (timesS[row - 1] as number) : 0;
          const [all, mine] = [shared.next() < elapsed / eventS, alone.next() < elapsed / ownS];
          if ((together && all) || mine) set = 1 - set;
          return set;
        });
      },
    };
  });
}
