/**
 * The map with what the bench has shown: each candidate's need, timeouts, frames that were sent while nothing moved, signals proven for sending. What a
 * person set by hand stays; a need that the bench leaves open is not touched.
 */
import { frameKey } from '../../map/identifiers.ts';
import type { Evidence, MapFrame, MapSignal, SignalMap } from '../../map/schema.ts';
import type { SentEntry } from '../sending/harmless.ts';
import { conclude, type FrameConclusion } from './conclusions.ts';
import { benchState, type BenchState } from './next-step.ts';
import { provenSignals, type ProvenSignal } from './proven-signals.ts';
import type { BenchRecord } from './record-schema.ts';
import { measuredTimeouts, type MeasuredTimeout } from './timeouts.ts';

/** What the capture of a bench is called in evidence where its trials are many. */
const BENCH_CAPTURE = 'bench';

function needOf(conclusion: FrameConclusion, frame: MapFrame): MapFrame['need'] {
  const { verdict, withIt, withoutIt, trials, replaceable } = conclusion;
  if (verdict === 'untested') return frame.need;
  const evidence: Evidence = {
    kind: 'bench',
    trials,
    n: withIt.n + withoutIt.n,
    with: { n: withIt.n, operational: withIt.works },
    without: { n: withoutIt.n, operational: withoutIt.works },
    ...(replaceable ? { replaceable } : {}),
  };
  const before = (frame.need as { evidence?: readonly Evidence[] }).evidence ?? [];
  const others = before.filter(({ kind }) => kind !== 'bench');
  return { ...frame.need, verdict, how: 'bench', evidence: [...others, evidence] };
}

function timingOf(timeout: MeasuredTimeout | undefined, { timing }: MapFrame): MapFrame['timing'] {
  if (!timeout || timeout.trials.length === 0) return timing;
  const { lowMs, highMs, trials, without } = timeout;
  const evidence = { kind: 'bench', trials, without, lowMs, highMs };
  return { ...timing, timeoutMs: lowMs, timeoutFrom: 'bench', timeoutEvidence: evidence };
}

/** Trials that sent the frame and in which somebody said whether anything moved. */
function sentOf(key: string, { trials }: BenchRecord, before: readonly unknown[]): readonly unknown[] {
  const told = trials.filter(({ sent, moved, setAside }) => sent.includes(key) && moved !== null && setAside === '');
  if (told.length === 0) return before;
  const entry = (moved: boolean): SentEntry[] => {
    const count = told.filter((trial) => trial.moved === moved).length;
    return count > 0 ? [{ kind: 'bench', capture: BENCH_CAPTURE, trials: count, moved }] : [];
  };
  const others = before.filter((each) => (each as Partial<SentEntry>).capture !== BENCH_CAPTURE);
  return [...others, ...entry(false), ...entry(true)];
}

function signalWith(proven: readonly ProvenSignal[], key: string, signal: MapSignal): MapSignal {
  const shown = proven.find((each) => each.frame === key && each.signal === signal.name);
  if (!shown) return signal;
  const { trials, values, by } = shown;
  const evidence: Evidence = { kind: 'bench', trials, n: trials.length, values, by };
  return { ...signal, sending: 'proven', evidence: [...signal.evidence, evidence] };
}

interface Shown {
  readonly record: BenchRecord;
  readonly conclusions: ReadonlyMap<string, FrameConclusion>;
  readonly timeouts: readonly MeasuredTimeout[];
  readonly proven: readonly ProvenSignal[];
}

function frameWith({ record, conclusions, timeouts, proven }: Shown, frame: MapFrame): MapFrame {
  const key = frameKey(frame);
  const conclusion = conclusions.get(key);
  const before = (frame as { sent?: readonly unknown[] }).sent ?? [];
  const sent = sentOf(key, record, before);
  const timeout = timeouts.find((each) => each.key === key);
  const isTouched =
    conclusion !== undefined || timeout !== undefined || sent !== before || proven.some((each) => each.frame === key);
  if (!isTouched) return frame;
  return {
    ...frame,
    need: conclusion ? needOf(conclusion, frame) : frame.need,
    timing: timingOf(timeout, frame),
    ...(sent.length > 0 ? { sent } : {}),
    signals: frame.signals.map((signal) => signalWith(proven, key, signal)),
  };
}

/** @param state that of the same map and record, where it is known already */
export function benchedMap(
  map: SignalMap,
  record: BenchRecord,
  state: BenchState = benchState(map, record),
): SignalMap {
  const shown: Shown = {
    record,
    conclusions: new Map(conclude(record, state).map((each) => [each.key, each])),
    timeouts: measuredTimeouts(state.judged),
    proven: provenSignals(state.judged),
  };
  return { ...map, frames: map.frames.map((frame) => frameWith(shown, frame)) };
}
