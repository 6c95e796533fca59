/**
 * Machines with readings and marks beside two recordings of them: the true map, with the evidence that the first recording gave it
 * (what it was fitted to, what it answered, which laws held), and how far the second's readings speak of a signal's scale.
 */
import { linkFields } from '../../src/actions/link.ts';
import { markSignal } from '../../src/draft/marked.ts';
import { findMeaning, type MeaningReport } from '../../src/draft/meaning.ts';
import { meantSignal } from '../../src/draft/meant.ts';
import type { LinkReport } from '../../src/actions/types.ts';
import type { Random } from '../../src/kit/random.ts';
import { findStream, type FrameTable } from '../../src/frames/table.ts';
import { fieldSeries } from '../../src/map/field-series.ts';
import type { Evidence, MapFrame, MapSignal, SignalMap } from '../../src/map/schema.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import { aFrame, aMap, aSignal } from '../support/map-parts.ts';
import { makeEvidenceVehicle, type EvidenceVehicle, type EvidenceWish } from './evidence/make-evidence.ts';
import type { ReferenceSet, TrueField, TrueReference } from './evidence/truth.ts';
import { withObserved } from './proof-cases.ts';

export interface BesideCase {
  readonly name: string;
  readonly map: SignalMap;
  readonly first: EvidenceVehicle;
  readonly second: EvidenceVehicle;
}

const fitted = ({ name, unit }: TrueReference): Evidence => ({ kind: 'fit', capture: 'c1', quantity: name, unit });

/** Bent ties need a table, and what rests has none. */
const isFitted = ({ sort, own }: TrueReference, signal: string): boolean =>
  sort !== 'bent' && sort !== 'steady' && own.includes(signal);

function signalOf(field: TrueField, references: readonly TrueReference[]): MapSignal {
  const { lsb, length, order, continues, signal, coding, kind, unit, scale, offset } = field;
  const evidence = references.filter((each) => isFitted(each, signal)).map(fitted);
  return aSignal({
    lsb: { ...lsb },
    length,
    order,
    ...(continues ? { continues: continues.map((piece) => ({ ...piece, lsb: { ...piece.lsb } })) } : {}),
    name: signal,
    coding,
    kind,
    unit,
    scale,
    offset,
    evidence,
  });
}

function frameOf(fields: readonly TrueField[], table: FrameTable, references: readonly TrueReference[]): MapFrame {
  const { bus, id, extended } = fields[0] as TrueField;
  const stream = findStream(table, { bus, id: Number(id), extended, direction: 'received' }) ?? undefined;
  const surveyed = surveyOf(table).frames.find(
    (each) => each.bus === bus && each.id === id && each.extended === extended,
  );
  const frame = aFrame({
    bus,
    id,
    extended,
    length: stream?.length ?? 8,
    name: `frame_${id}`,
    selectors: [],
    counters: [],
    checksums: [],
    signals: fields.map((field) => signalOf(field, references)),
    ...(surveyed ? { timing: surveyed.timing } : {}),
  });
  return withObserved(frame, stream);
}

const surveys = new WeakMap<FrameTable, ReturnType<typeof surveyTable>>();
function surveyOf(table: FrameTable) {
  const known = surveys.get(table) ?? surveyTable(table, {});
  surveys.set(table, known);
  return known;
}

/** What the marks and the laws of the first recording say of a signal. */
function withFound(frame: MapFrame, links: LinkReport, meaning: MeaningReport): MapFrame {
  const signals = frame.signals.map((signal): MapSignal => {
    const { evidence } = markSignal(signal, frame, links, 'c1').signal;
    return { ...signal, evidence: meantSignal({ ...signal, evidence }, frame, meaning, 'c1').evidence };
  });
  return { ...frame, signals };
}

/** Fields as they truly are, under the names of their signals. */
const findingOf = (frame: MapFrame) => ({
  bus: frame.bus,
  id: frame.id,
  extended: frame.extended,
  direction: 'received' as const,
  selectors: [],
  fields: frame.signals,
});

export async function besideCase(seed: number, wish: EvidenceWish = {}): Promise<BesideCase> {
  const first = makeEvidenceVehicle(seed, {});
  const second = makeEvidenceVehicle(seed, { take: 1, ...wish });
  const references = first.references.flatMap(({ truths }) => truths);
  const byFrame = new Map<string, TrueField[]>();
  for (const field of first.truth.fields) {
    const key = `${field.bus} ${field.id} ${field.extended}`;
    byFrame.set(key, [...(byFrame.get(key) ?? []), field]);
  }
  const frames = [...byFrame.values()].map((fields) => frameOf(fields, first.table, references));
  const findings = frames.map(findingOf);
  const { table, marks } = first;
  const links = await linkFields({ table, findings, marks, offset: 'auto', seed: 1 }, {});
  const meaning = await findMeaning({ table, findings, survey: surveyOf(table), links, seed: 1 }, {});
  const map = aMap(
    frames.map((frame) => withFound(frame, links, meaning)),
    { requires: [] },
  );
  return { name: `machine ${first.truth.machine} ${seed}`, map, first, second };
}

const spreadOf = (values: readonly number[]): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
};

/** Readings that swing far over what they err by, again and again, measured from the truth of clock, gain and delay. */
const SWING = 8;
const READINGS = 60;
const CROSSINGS = 12;

/** Signals whose scale a recording's readings show beyond doubt, as "frame signal". */
export function scalesShown({ table, truth }: EvidenceVehicle, references: readonly ReferenceSet[]): Set<string> {
  const shown = new Set<string>();
  for (const { file, offsetS, truths } of references) {
    for (const [at, { sort, own, gain, shift, delayS }] of truths.entries()) {
      const series = file.series[at];
      if (!series || (sort !== 'plain' && sort !== 'converted')) continue;
      for (const name of own) {
        const field = truth.fields.find(({ signal }) => signal === name);
        const stream =
          field &&
          findStream(table, { bus: field.bus, id: Number(field.id), extended: field.extended, direction: 'received' });
        if (!field || !stream) continue;
        const { timeUs, value } = fieldSeries(stream, { ...field, when: null }, []);
        const origin = Number(table.origin.text);
        let row = 0;
        const [read, left]: [number[], number[]] = [[], []];
        series.timeS.forEach((timeS, i) => {
          const atUs = (timeS - origin + offsetS - delayS) * 1e6;
          while (row + 1 < timeUs.length && (timeUs[row + 1] as number) <= atUs) row++;
          if (atUs < (timeUs[0] as number) || atUs > (timeUs.at(-1) as number)) return;
          const reading = ((series.value[i] as number) - shift) / gain;
          read.push(reading);
          left.push(reading - (value[row] as number) * field.scale - field.offset);
        });
        const middle = (Math.max(...read) + Math.min(...read)) / 2;
        const crossings = read.filter((one, i) => i > 0 && one > middle !== (read[i - 1] as number) > middle).length;
        if (read.length >= READINGS && crossings >= CROSSINGS && spreadOf(read) >= SWING * spreadOf(left))
          shown.add(`${field.id} ${name}`);
      }
    }
  }
  return shown;
}

const METER_ERRS = 0.05;

export const SCALE_FAULTS = ['scale', 'offset'] as const;
type ScaleFault = (typeof SCALE_FAULTS)[number];

export interface PlantedScale {
  readonly key: string;
  readonly kind: ScaleFault;
  readonly exercised: boolean;
  readonly words: string;
}

/** Scales times 1/10 to 10, offsets off by a third of the range seen, in half of the signals that readings are taken of. */
export function plantScales(
  { map, second }: BesideCase,
  references: readonly ReferenceSet[],
  random: Random,
): { map: SignalMap; faults: PlantedScale[] } {
  const shown = scalesShown(second, references);
  const faults: PlantedScale[] = [];
  const wrong = (frame: MapFrame, signal: MapSignal): MapSignal => {
    if (!signal.evidence.some(({ kind }) => kind === 'fit') || random.next() < 0.5) return signal;
    const key = `${frame.id} ${signal.name}`;
    const kind = random.pick(SCALE_FAULTS);
    const factor = random.pick([0.1, 0.5, 0.9, 1.1, 2, 10, -1]);
    const width = signal.observed ? signal.observed.max - signal.observed.min : 0;
    const by = (random.pick([-1, 1]) * width) / 3;
    const most = Math.max(0, ...Object.values(signal.observed ?? {}).map((end) => Math.abs(Number(end))));
    // No meter tells an offset that is less than it may err itself.
    const isTold = kind === 'scale' || Math.abs(by) > METER_ERRS * most;
    faults.push({
      key,
      kind,
      exercised: shown.has(key) && width > 0 && isTold,
      words: kind === 'scale' ? `scale times ${factor}` : `offset ${by} off`,
    });
    const { scale, offset, observed } = signal;
    const moved =
      kind === 'scale' ? { scale: scale * factor, offset: offset * factor } : { scale, offset: offset + by };
    const ends = observed
      ? [observed.min, observed.max].map((end) => ((end - offset) / scale) * moved.scale + moved.offset)
      : null;
    return { ...signal, ...moved, observed: ends && { min: Math.min(...ends), max: Math.max(...ends) } };
  };
  const frames = map.frames.map((frame) => ({
    ...frame,
    signals: frame.signals.map((signal) => wrong(frame, signal)),
  }));
  return { map: { ...map, frames }, faults };
}
