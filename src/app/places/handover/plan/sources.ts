/** Captures that may tell of the part's needs, and the questions to each: its survey, then who is needed by it. */
import type { CaptureObservations, KnownSender } from '../../../../handover/needs/observe/types.ts';
import type { DossierCapture } from '../../../../jobs/dossier.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import type { BusRates, Survey } from '../../../../timing/types.ts';
import type { OpenCapture } from '../../../stores/captures.ts';
import { ensureFinding, findingKey, fingerprintOnce, type Slot } from '../../../stores/findings.ts';

export interface Source {
  readonly entry: DossierCapture;
  readonly engine: Engine;
  readonly digest: string;
}

/** Those that have been read, the one that is open first. */
export function sourcesOf(
  captures: readonly DossierCapture[],
  open: readonly OpenCapture[],
  currentId: string | null,
): readonly Source[] {
  const sources = captures.flatMap((entry) => {
    const held = open.find(({ id }) => id === entry.id);
    const digest = held?.summary?.digest;
    return held?.phase === 'ready' && held.engine && digest ? [{ entry, engine: held.engine, digest }] : [];
  });
  return sources.toSorted((a, b) => Number(b.entry.id === currentId) - Number(a.entry.id === currentId));
}

type Slots = Readonly<Record<string, Slot>>;

const done = <T>(slot: Slot | undefined): T | null => (slot?.state === 'done' ? (slot.value as T) : null);

/** Under the same key as the survey that the other places ask for. */
const surveyKey = ({ digest, entry }: Source, rates: BusRates): string =>
  findingKey(digest, 'survey', { rates, trim: entry.trim });

const needsKey = ({ digest, entry }: Source, survey: Survey, senders: readonly KnownSender[]): string =>
  findingKey(digest, 'needs', {
    capture: entry.id,
    survey: fingerprintOnce(survey),
    senders: fingerprintOnce(senders),
  });

/** What a source has told; "open": nothing that ended yet. */
export type Told = CaptureObservations | 'open' | 'nothing';

export function toldBy(source: Source, rates: BusRates, senders: readonly KnownSender[], slots: Slots): Told {
  const first = slots[surveyKey(source, rates)];
  const survey = done<Survey>(first);
  if (!survey) return hasEnded(first) ? 'nothing' : 'open';
  const second = slots[needsKey(source, survey, senders)];
  return done<CaptureObservations>(second) ?? (hasEnded(second) ? 'nothing' : 'open');
}

const hasEnded = (slot: Slot | undefined): boolean => slot?.state === 'failed' || slot?.state === 'stopped';

/** Asks the next question of a source; nothing where its answer is there or on its way. */
export function askNext(source: Source, rates: BusRates, senders: readonly KnownSender[], slots: Slots): void {
  const { engine, entry } = source;
  const survey = done<Survey>(slots[surveyKey(source, rates)]);
  const span = entry.trim ? { fromS: entry.trim.fromS, toS: entry.trim.toS } : undefined;
  if (!survey) return ensureFinding(surveyKey(source, rates), () => engine.survey(rates, span));
  const request = { job: 'needs' as const, capture: entry.id, survey, senders };
  ensureFinding(needsKey(source, survey, senders), (control) => engine.analyse<'needs'>(request, control));
}
