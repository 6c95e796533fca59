/** Captures that may tell of the part's needs, and the questions to each: its survey, then who is needed by it. */
import type { CaptureObservations, KnownSender } from '../../../../handover/needs/observe/types.ts';
import { sendersOf } from '../../../../handover/needs/senders.ts';
import type { DossierCapture } from '../../../../jobs/dossier.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { identifiersOfMap, matchBuses } from '../../../../proof/buses.ts';
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

/** What every capture is asked about. Keep its identity while its content stays the same. */
export interface Question {
  readonly senders: readonly KnownSender[];
  /** Identifiers on each bus of the map: a capture may call its buses otherwise. */
  readonly identifiers: ReturnType<typeof identifiersOfMap>;
}

export const questionOf = (map: SignalMap): Question => ({
  senders: sendersOf(map),
  identifiers: identifiersOfMap(map),
});

type BusMap = Readonly<Record<string, string | null>>;

const matched = new WeakMap<Survey, { readonly question: Question; readonly busMap: BusMap }>();
function busMapOf(question: Question, survey: Survey): BusMap {
  const known = matched.get(survey);
  if (known?.question === question) return known.busMap;
  const received = survey.frames.filter(({ direction }) => direction === 'received');
  const busMap = Object.fromEntries(matchBuses(question.identifiers, identifiersOfMap({ frames: received })));
  matched.set(survey, { question, busMap });
  return busMap;
}

interface Needs {
  readonly key: string;
  readonly busMap: BusMap;
}

function needsOf({ digest, entry }: Source, survey: Survey, question: Question): Needs {
  const busMap = busMapOf(question, survey);
  const senders = fingerprintOnce(question.senders);
  const key = findingKey(digest, 'needs', { capture: entry.id, survey: fingerprintOnce(survey), senders, busMap });
  return { key, busMap };
}

/** What a source has told; "open": nothing that ended yet. */
export type Told = CaptureObservations | 'open' | 'nothing';

export function toldBy(source: Source, rates: BusRates, question: Question, slots: Slots): Told {
  const first = slots[surveyKey(source, rates)];
  const survey = done<Survey>(first);
  if (!survey) return hasEnded(first) ? 'nothing' : 'open';
  const second = slots[needsOf(source, survey, question).key];
  return done<CaptureObservations>(second) ?? (hasEnded(second) ? 'nothing' : 'open');
}

const hasEnded = (slot: Slot | undefined): boolean => slot?.state === 'failed' || slot?.state === 'stopped';

/** Asks the next question of a source; nothing where its answer is there or on its way. */
export function askNext(source: Source, rates: BusRates, question: Question, slots: Slots): void {
  const { engine, entry } = source;
  const survey = done<Survey>(slots[surveyKey(source, rates)]);
  const span = entry.trim ? { fromS: entry.trim.fromS, toS: entry.trim.toS } : undefined;
  if (!survey) return ensureFinding(surveyKey(source, rates), () => engine.survey(rates, span));
  const { key, busMap } = needsOf(source, survey, question);
  const request = { job: 'needs' as const, capture: entry.id, survey, senders: question.senders, busMap };
  ensureFinding(key, (control) => engine.analyse<'needs'>(request, control));
}
