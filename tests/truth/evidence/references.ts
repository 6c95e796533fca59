/**
 * Known quantities beside the recording: a second logger that reads some of them densely, and a person with a meter who writes down a few.
 * Each has its own noise, gaps, rounding, delay and unit, and the set a clock of its own.
 */
import type { Random } from '../../../src/kit/random.ts';
import type { ReferenceSeries } from '../../../src/reference/types.ts';
import { chance } from '../stranger/draw.ts';
import { lag, valueAt, type Column } from './columns.ts';
import type { Machine, Signal } from './machine.ts';
import type { ReferenceSet, TrueReference } from './truth.ts';

interface Unit {
  readonly unit: string;
  readonly gain: number;
  readonly shift: number;
}

/** Exact by definition: the international mile, the Fahrenheit scale, SI prefixes; psi by NIST SP 811, appendix B. */
const OTHER_UNITS: Readonly<Record<string, readonly Unit[]>> = {
  'km/h': [
    { unit: 'mph', gain: 1 / 1.609344, shift: 0 },
    { unit: 'm/s', gain: 1 / 3.6, shift: 0 },
  ],
  '°C': [
    { unit: '°F', gain: 1.8, shift: 32 },
    { unit: 'K', gain: 1, shift: 273.15 },
  ],
  bar: [
    { unit: 'kPa', gain: 100, shift: 0 },
    { unit: 'psi', gain: 100 / 6.894757, shift: 0 },
  ],
  V: [{ unit: 'mV', gain: 1000, shift: 0 }],
  rpm: [{ unit: 'rad/s', gain: Math.PI / 30, shift: 0 }],
};

interface Wanted {
  readonly of: string;
  readonly sort: TrueReference['sort'];
  readonly name: string;
  /** Signals near to it that count neither way. */
  readonly kin: readonly string[];
  readonly alsoOwn?: readonly string[];
  /** The reading's own error of scale: a satellite's or a dashboard's speed. */
  readonly gain?: number;
}

interface Clock {
  readonly aheadS: number;
  readonly firstS: number;
  readonly epochS: number;
}

function drawGaps(random: Random, seconds: number): (timeS: number) => boolean {
  const gaps = Array.from({ length: random.below(3) }, () => {
    const from = random.between(0, seconds - 8);
    return [from, from + random.between(2, 8)] as const;
  });
  return (timeS) => gaps.some(([from, to]) => timeS >= from && timeS < to);
}

const roundTo = (value: number, step: number): number => (step === 0 ? value : Math.round(value / step) * step);

interface Reading {
  readonly times: readonly number[];
  readonly noise: number;
  readonly step: number;
  readonly delayS: number;
  readonly wild: number;
}

function read(
  random: Random,
  column: Column,
  { unit, gain, shift }: Unit,
  name: string,
  reading: Reading,
  clock: Clock,
): ReferenceSeries {
  const { times, noise, step, delayS, wild } = reading;
  const rows = times.map((timeS) => {
    const value = valueAt(column, timeS - delayS) * gain + shift + random.normal() * noise;
    const shown = roundTo(chance(random, wild) ? value * random.between(1.3, 3) : value, step);
    return { timeS: Math.round((clock.epochS + timeS + clock.aheadS) * 1000) / 1000, value: shown };
  });
  return {
    name,
    unit,
    timeS: Float64Array.from(rows, (row) => row.timeS),
    value: Float64Array.from(rows, (row) => row.value),
  };
}

const spanOf = (column: Column): number =>
  column.reduce((a, b) => Math.max(a, b)) - column.reduce((a, b) => Math.min(a, b));

function unitFor(random: Random, signal: Signal, sort: Wanted['sort']): Unit {
  const others = OTHER_UNITS[signal.unit];
  return sort === 'converted' && others ? random.pick(others) : { unit: signal.unit, gain: 1, shift: 0 };
}

function truthOf({ of, sort, name, kin, alsoOwn = [], gain = 1 }: Wanted, unit: Unit, delayS: number): TrueReference {
  const own = [of, ...alsoOwn];
  return {
    name,
    unit: unit.unit,
    quantity: of,
    sort,
    own,
    kin,
    gain: unit.gain * gain,
    shift: unit.shift,
    delayS,
    table: null,
  };
}

function denseSeries(random: Random, machine: Machine, wanted: Wanted, clock: Clock): [ReferenceSeries, TrueReference] {
  const { sort, of, gain = 1 } = wanted;
  const signal = machine.signal(of);
  const unit = unitFor(random, signal, sort);
  const span = Math.max(spanOf(signal.column), (signal.high - signal.low) * 0.01) * unit.gain;
  const everyS = random.pick([0.1, 0.2, 0.5, 1]);
  const isGap = drawGaps(random, machine.seconds);
  const times = Array.from({ length: Math.floor((machine.seconds - 2) / everyS) }, (_, at) => 1 + at * everyS).filter(
    (timeS) => !isGap(timeS),
  );
  const rough = sort === 'rough';
  const reading: Reading = {
    times,
    noise: span * random.pick([0.001, 0.004, rough ? 0.03 : 0.01]),
    step: 10 ** Math.floor(Math.log10(span * (rough ? 0.05 : 0.004))),
    delayS: chance(random, 0.5) ? 0 : random.between(0.05, rough ? 0.9 : 0.3),
    wild: rough ? 0.02 : 0,
  };
  const scaled = { ...unit, gain: unit.gain * gain };
  return [read(random, signal.column, scaled, wanted.name, reading, clock), truthOf(wanted, unit, reading.delayS)];
}

/** What a thermistor's counts mean, as the second logger's own sensor says. */
function bentSeries(random: Random, machine: Machine, clock: Clock): [ReferenceSeries, TrueReference] {
  const [warm, counts] = [machine.signal('coolant temperature').column, machine.signal('coolant counts').column];
  const wanted: Wanted = { of: 'coolant counts', sort: 'bent', name: 'coolant probe', kin: [], gain: 1 };
  const times = Array.from({ length: Math.floor((machine.seconds - 2) / 0.5) }, (_, at) => 1 + at * 0.5);
  const reading: Reading = { times, noise: 0.15, step: 0.1, delayS: 0, wild: 0 };
  const pairs = new Map(Array.from(counts, (value, step) => [Math.round(value), warm[step] as number] as const));
  const table = [...pairs].sort((a, b) => a[0] - b[0]);
  const truth = truthOf(wanted, { unit: '°C', gain: 1, shift: 0 }, 0);
  const same = ['coolant temperature'];
  return [
    read(random, warm, { unit: '°C', gain: 1, shift: 0 }, wanted.name, reading, clock),
    { ...truth, kin: same, table },
  ];
}

function setOf(pairs: readonly (readonly [ReferenceSeries, TrueReference])[], clock: Clock): ReferenceSet {
  const series = pairs.map(([one]) => one);
  return { file: { series, timeBase: 'epoch' }, offsetS: -clock.aheadS, truths: pairs.map(([, truth]) => truth) };
}

const PACK_KIN = ['pack volts', 'cell mean', 'cell 1', 'cell 2', 'cell 3', 'cell 4'];

/** Signals that show the same number by another module or a little smoothed. */
function wantedFrom(random: Random, machine: Machine): Wanted[] {
  const names = machine.signals.map(({ name }) => name);
  const linked = names.filter((name) => name.endsWith('link volts'));
  const speeds = names.filter(
    (name) => machine.signal(name).quantity === 'speed' || name.startsWith('wheel speed') || name.startsWith('turns'),
  );
  const volts = [...PACK_KIN, ...linked];
  const amps = names.filter((name) => name === 'pack amps');
  const turning = names.find((name) => name.startsWith('turns')) as string;
  const motor = names.find((name) => name.endsWith(' given')) as string;
  const coolant = names.filter((name) => name.includes('coolant temperature') || name === 'coolant counts');
  const other = (list: readonly string[], of: string): string[] => list.filter((name) => name !== of);
  const sort = (): 'plain' | 'converted' => random.pick(['plain', 'converted']);
  return [
    { of: 'pack volts', sort: 'plain', name: 'clamp volts', kin: other(volts, 'pack volts') },
    { of: 'pack amps', sort: 'plain', name: 'clamp amps', kin: other(amps, 'pack amps') },
    { of: turning, sort: sort(), name: 'strobe turns', kin: speeds.filter((name) => name !== turning) },
    {
      of: motor,
      sort: 'plain',
      name: 'shaft torque',
      kin: names.filter((name) => /^torque.*(asked|echo|given)$/.test(name) && name !== motor),
    },
    { of: 'pedal travel', sort: 'rough', name: 'pedal string', kin: ['pedal second track'] },
    { of: 'brake pressure', sort: sort(), name: 'brake gauge', kin: ['brake travel'] },
    { of: 'air pressure', sort: 'converted', name: 'air gauge', kin: [] },
    { of: 'coolant temperature', sort: sort(), name: 'coolant probe two', kin: other(coolant, 'coolant temperature') },
    {
      of: 'speed',
      sort: 'rough',
      name: 'satellite speed',
      kin: speeds.filter((name) => name !== 'speed'),
      gain: random.between(0.97, 1.03),
    },
    { of: 'reference volts', sort: 'steady', name: 'steady volts', kin: [] },
  ];
}

export function takeReferences(machine: Machine, random: Random, firstS: number, epochS: number): ReferenceSet[] {
  const wanted = wantedFrom(random.fork('wanted'), machine);
  const aheadS = random.between(-15, 15) + (chance(random, 0.25) ? random.pick([-7, -2, -1, 1, 2, 8]) * 3600 : 0);
  const clock: Clock = { aheadS, firstS, epochS };
  const dense = wanted.map((each) => denseSeries(random.fork(each.name), machine, each, clock));
  const sets = [setOf([...dense, bentSeries(random.fork('bent'), machine, clock)], clock)];
  const hand: Clock = { aheadS: random.between(-1.5, 1.5), firstS, epochS };
  const few = wanted
    .filter(({ of }) => ['pack volts', 'coolant temperature', 'charge', 'air pressure'].includes(of))
    .map((each): [ReferenceSeries, TrueReference] => {
      const own = random.fork(`hand ${each.name}`);
      const column = lag(machine.signal(each.of).column, 0.3);
      const times = Array.from({ length: 5 + own.below(5) }, () =>
        Math.round(own.between(3, machine.seconds - 3)),
      ).sort((a, b) => a - b);
      const { unit } = machine.signal(each.of);
      const reading: Reading = {
        times: [...new Set(times)],
        noise: 0,
        step: each.of === 'pack volts' ? 0.1 : 0.1,
        delayS: 0,
        wild: 0,
      };
      const plain = { unit, gain: 1, shift: 0 };
      const sparse: Wanted = { ...each, sort: 'sparse', name: `${each.name} by hand` };
      return [read(own, column, plain, sparse.name, reading, hand), truthOf(sparse, plain, 0)];
    });
  return [...sets, setOf(few, hand)];
}
