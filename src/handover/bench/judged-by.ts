/**
 * What trials are judged by: for each state and fault field the values it shows when the part works (in the vehicle, and in trials with everything
 * sent), those it shows with nothing sent, and what the names of its values say where nothing else does.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { MapSignal, SignalMap } from '../../map/schema.ts';
import type { BenchRecord, FieldReading, TrialObservation } from './record-schema.ts';

export interface FieldKnown {
  readonly healthy: ReadonlySet<number>;
  /** Shown with nothing sent, by a part that does not work then. */
  readonly bare: ReadonlySet<number>;
  /** Whether another value than the healthy ones is wrong by itself: it is a fault field, or a trial on this bench showed the healthy one. */
  readonly isDecided: boolean;
  /** What the name of a value says; null where the values have none. */
  readonly byName: ((raw: number) => 'healthy' | 'faulty' | null) | null;
  nameOf(this: void, raw: number): string;
}

export interface JudgedBy {
  fieldOf(reading: Pick<FieldReading, 'frame' | 'signal'>): FieldKnown;
  /** Own frames that are there when the part works. */
  readonly usualAlive: ReadonlySet<string>;
  /** Own frames that are there with nothing sent; null before such a trial. */
  readonly bareAlive: ReadonlySet<string> | null;
  /** With nothing sent the part is awake: a state or fault field is heard. */
  readonly bareIsAwake: boolean;
  /** Fault codes that fail although the part works. */
  readonly usualCodes: ReadonlySet<string>;
}

/** Words of the trade. */
const BAD_WORDS = /fault|error|fail|lost|limp|shut|emergency|invalid|off\b|init|sleep/i;
const GOOD_WORDS = /ready|run|operational|active|normal|healthy|\bok\b|none|\bno\b|standby/i;

function byName(signal: MapSignal): FieldKnown['byName'] {
  const named = Object.keys(signal.states).length > 0;
  if (named) {
    return (raw) => {
      const name = signal.states[String(raw)];
      if (name === undefined) return null;
      if (BAD_WORDS.test(name) && !/\bno\b/i.test(name)) return 'faulty';
      return GOOD_WORDS.test(name) ? 'healthy' : null;
    };
  }
  return signal.role === 'fault' ? (raw) => (raw === 0 ? 'healthy' : 'faulty') : null;
}

/** Trials whose verdict is settled before this one is judged. */
export interface References {
  /** With everything sent, operational. */
  readonly works: readonly TrialObservation[];
  /** With nothing sent, not operational. */
  readonly bare: readonly TrialObservation[];
}

const fieldName = ({ frame, signal }: Pick<FieldReading, 'frame' | 'signal'>): string => `${frame} ${signal}`;

/** By field, the values at the end of some trials. */
function valuesIn(observations: readonly TrialObservation[]): Map<string, Set<number>> {
  const values = new Map<string, Set<number>>();
  for (const reading of observations.flatMap(({ fields }) => fields)) {
    if (reading.raw === null || reading.share < 1) continue;
    const set = values.get(fieldName(reading)) ?? new Set<number>();
    values.set(fieldName(reading), set.add(reading.raw));
  }
  return values;
}

const heardAtEnd = ({ own }: TrialObservation): string[] => own.filter(({ atEnd }) => atEnd > 0).map(({ key }) => key);

export function judgedBy(
  map: Pick<SignalMap, 'frames'>,
  vehicle: BenchRecord['vehicle'],
  { works, bare }: References,
): JudgedBy {
  const signals = new Map(
    map.frames.flatMap((frame) =>
      frame.signals.map((signal) => [fieldName({ frame: frameKey(frame), signal: signal.name }), signal]),
    ),
  );
  const [inWorks, inBare] = [valuesIn(works), valuesIn(bare)];
  const inVehicle = new Map((vehicle?.fields ?? []).map((field) => [fieldName(field), field.healthy]));
  const cache = new Map<string, FieldKnown>();
  const known = (name: string): FieldKnown => {
    const signal = signals.get(name);
    const onBench = inWorks.get(name);
    return {
      healthy: new Set([...(inVehicle.get(name) ?? []), ...(onBench ?? [])]),
      bare: inBare.get(name) ?? new Set(),
      isDecided: onBench !== undefined || signal?.role === 'fault',
      byName: signal ? byName(signal) : null,
      nameOf: (raw) => (signal?.states[String(raw)] ? `${signal.states[String(raw)]} (${raw})` : String(raw)),
    };
  };
  const first = works[0];
  const usual = new Set(first ? heardAtEnd(first) : []);
  return {
    fieldOf: (reading) => {
      const name = fieldName(reading);
      const cached = cache.get(name) ?? known(name);
      cache.set(name, cached);
      return cached;
    },
    usualAlive: new Set([...usual].filter((key) => works.every((each) => heardAtEnd(each).includes(key)))),
    bareAlive: bare.length > 0 ? new Set(bare.flatMap(heardAtEnd)) : null,
    bareIsAwake: bare.some(({ fields }) => fields.some(({ raw }) => raw !== null)),
    usualCodes: new Set(works.flatMap(({ codes }) => codes.map(({ code }) => code))),
  };
}
