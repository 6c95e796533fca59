/**
 * Whether a signal holds in another capture: where it lies and how it is coded, its range and states. A constant tests
 * nothing. Values beyond the range seen before may be a harder drive: the range is then not held, the place may well be.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions } from '../../frames/bits.ts';
import type { Stream } from '../../frames/table.ts';
import type { CompiledFrame, CompiledSignal } from '../../map/decode.ts';
import type { MapFrame, MapSignal, When } from '../../map/schema.ts';
import { canCoincide } from '../../map/pages.ts';
import type { RawValue } from '../../map/raw-values.ts';
import { judgePlace } from './place.ts';
import type { PlaceJudgement, TakenBit } from './place-types.ts';
import { momentsOf } from './moments.ts';
import { signalValues, type SignalValues } from './signal-values.ts';
import * as limit from './thresholds.ts';
import type { ToldAspect } from './told.ts';
import type { ProofAspect, ProofItem, ProofVerdict } from './types.ts';
import { judgeRange, judgeStates, type ValuesJudgement } from './value-range.ts';

/** Entries that claim some of its own bits as well have no right before it: one of the two is wrong. */
function takenBits(frame: MapFrame, compiled: CompiledSignal): TakenBit {
  const { signal } = compiled;
  const own = new Set(bitPositions(signal as Placement));
  const entries: (Placement & { when?: When | undefined })[] = [
    ...frame.signals.filter((each) => each !== signal),
    ...frame.counters,
    ...frame.checksums,
    ...frame.selectors,
  ] as (Placement & { when?: When | undefined })[];
  const taken = new Set(
    entries
      .filter(({ when }) => canCoincide(when, signal.when))
      .map(bitPositions)
      .filter((bits) => !bits.some((at) => own.has(at)))
      .flat(),
  );
  return (at) => taken.has(at);
}

function judgeText(compiled: CompiledSignal, { rows, raws }: SignalValues): PlaceJudgement {
  const isPrintable = (raw: RawValue): boolean => /^[\x20-\x7e\xa0-\xff]*$/.test(compiled.textOf(raw) ?? '\0');
  const strange = [...raws.keys()].filter((i) => !isPrintable(raws[i] as RawValue));
  const held = raws.length - strange.length >= limit.VALUES_HOLD * raws.length;
  return {
    verdict: held ? 'holds' : 'fails',
    detail: `${raws.length - strange.length} of ${raws.length} are printable`,
    figures: { values: raws.length, printable: raws.length - strange.length },
    strange: strange.map((i) => rows[i] as number),
  };
}

const constant: PlaceJudgement = {
  verdict: 'not-exercised',
  detail: 'constant in this capture',
  figures: {},
  strange: [],
};

function moved({ changes, distinct }: SignalValues): PlaceJudgement {
  return {
    verdict: 'holds',
    detail: `${distinct} values seen, ${changes} changes`,
    figures: { changes, distinct },
    strange: [],
  };
}

interface Judged {
  readonly aspects: readonly ProofAspect[];
  readonly strange: readonly number[];
  /** Share of the values in range or named; null where nothing was held. */
  readonly rate: number | null;
}

const aspectOf = (aspect: ProofAspect['aspect'], { verdict, detail, figures }: PlaceJudgement): ProofAspect => ({
  aspect,
  verdict,
  detail,
  figures,
});

function together(place: PlaceJudgement, values: ValuesJudgement | null): Judged {
  const aspects = [aspectOf('place', place), ...(values ? [aspectOf('values', values)] : [])];
  const strange = place.verdict === 'fails' ? place.strange : (values?.strange ?? []);
  return { aspects, strange, rate: values?.rate ?? (place.verdict === 'holds' ? 1 : null) };
}

function judge(compiled: CompiledSignal, values: SignalValues, stream: Stream, isTaken: TakenBit): Judged {
  const { signal } = compiled;
  const named = Object.keys(signal.states).length > 0 && signal.kind !== 'number';
  if (signal.kind === 'number' && signal.coding !== 'text') {
    const place = judgePlace(compiled, values, stream, isTaken);
    return together(place, place.verdict === 'holds' ? judgeRange(compiled, values) : null);
  }
  if (values.distinct < 2) return together(constant, null);
  if (signal.coding === 'text') return together(judgeText(compiled, values), null);
  return together(moved(values), named ? judgeStates(compiled, values) : null);
}

/** Fails where one aspect does; holds where the place does. */
function verdictOf(aspects: readonly ProofAspect[]): ProofVerdict {
  if (aspects.some(({ verdict }) => verdict === 'fails')) return 'fails';
  return aspects.some(({ aspect, verdict }) => aspect === 'place' && verdict === 'holds') ? 'holds' : 'not-exercised';
}

/** What references, laws and marks say of a signal. */
export type TellOf = (signal: MapSignal) => readonly ToldAspect[];

function proveSignal(frame: MapFrame, compiled: CompiledSignal, stream: Stream, tellOf: TellOf): ProofItem {
  const values = signalValues(compiled, stream);
  const n = values.rows.length;
  const base = { item: 'signal' as const, name: compiled.signal.name, n };
  if (n + values.unreadable.length < limit.VALUES_NEEDED) {
    const none = values.noData > 0 ? `, ${values.noData} say "no data"` : '';
    return { ...base, verdict: 'not-exercised', rate: null, detail: `${n} values are too few${none}`, moments: [] };
  }
  const { aspects: own, strange, rate } = judge(compiled, values, stream, takenBits(frame, compiled));
  const told = tellOf(compiled.signal);
  const aspects = [...own, ...told];
  const verdict = verdictOf(aspects);
  const failed = aspects.filter((aspect) => aspect.verdict === 'fails');
  const parted = told.filter((aspect) => aspect.verdict === 'fails').flatMap(({ moments }) => moments);
  return {
    ...base,
    verdict,
    rate: verdict === 'not-exercised' ? null : rate,
    detail: (failed.length > 0 ? failed : aspects).map(({ detail }) => detail).join('; '),
    moments:
      own.some((aspect) => aspect.verdict === 'fails') || parted.length === 0 ? momentsOf(stream, strange) : parted,
    aspects,
  };
}

export const proveSignals = (compiled: CompiledFrame, stream: Stream, tellOf: TellOf): ProofItem[] =>
  compiled.signals.map((signal) => proveSignal(compiled.frame, signal, stream, tellOf));
