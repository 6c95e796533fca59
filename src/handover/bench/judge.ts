/**
 * What a trial's recording says of the module: asleep, awake with a fault, operational, or unclear. Each state and fault field votes by what it showed
 * in the vehicle and in the trials with everything and with nothing sent. Where the votes do not agree, or the recording is not that of
 * the trial, the answer is unclear and says why: a wrong "operational" costs more than another trial.
 */
import type { FieldReading, TrialObservation } from './record-schema.ts';
import type { JudgedBy, FieldKnown } from './judged-by.ts';

export type Verdict = 'asleep' | 'awake-with-fault' | 'operational' | 'unclear';

export interface Judgement {
  readonly verdict: Verdict;
  /** For a person, with figures. */
  readonly reasons: readonly string[];
  /** Seconds from power-up to the first sign of what is wrong; null where nothing is, or where it was so from the start. */
  readonly onsetS: number | null;
  /** A field shows something else than when the part works, or does not settle: so it does not work as it should, whatever the verdict is. */
  readonly differs: boolean;
}

/** What was planned to be watched; less is too short. */
const WATCHED_SHARE = 0.8;
/** A field that takes several values at the end has not settled. */
const SETTLED_SHARE = 0.9;
/** A change so near to the end may not be the last. */
const LATE_SHARE = 0.08;
const LEAST_ALIVE_SHARE = 0.4;

type Voice = 'healthy' | 'faulty' | 'mute' | 'unsettled';

interface Vote {
  readonly reading: FieldReading;
  readonly voice: Voice;
  readonly known: FieldKnown;
  readonly words: string;
}

function voiceOf({ raw, share }: FieldReading, known: FieldKnown): Voice {
  if (raw === null) return 'mute';
  if (share < SETTLED_SHARE) return known.healthy.size > 0 || known.byName !== null ? 'unsettled' : 'mute';
  if (known.healthy.has(raw)) return known.bare.has(raw) ? 'mute' : 'healthy';
  if (known.healthy.size > 0 && (known.isDecided || known.bare.has(raw))) return 'faulty';
  return known.byName?.(raw) ?? (known.healthy.size > 0 ? 'unsettled' : 'mute');
}

function wordsOf(reading: FieldReading, known: FieldKnown, voice: Voice): string {
  const shown = reading.raw === null ? 'not there at the end' : `shows ${known.nameOf(reading.raw)}`;
  const since = reading.sinceS !== null && reading.beforeS !== null ? ` since ${reading.sinceS.toFixed(1)} s` : '';
  const usual = [...known.healthy].map(known.nameOf).join(' or ');
  const against = voice === 'faulty' && usual ? ` where ${usual} is usual when it works` : '';
  const mixed =
    voice === 'unsettled' && reading.share < SETTLED_SHARE
      ? ` in ${Math.round(100 * reading.share)} % of the last frames`
      : '';
  return `${reading.signal} ${shown}${mixed}${since}${against}`;
}

function troubles(observed: TrialObservation, settleS: number): string[] {
  const found = observed.sent.filter(({ trouble }) => trouble !== '').map(({ key, trouble }) => `${key}: ${trouble}`);
  const strangers = observed.strangers.map((key) => `${key} is on the bus and was not to be sent`);
  const isShort = observed.watchedS < WATCHED_SHARE * settleS;
  const short = isShort ? [`the recording ends after ${observed.watchedS.toFixed(1)} s of ${settleS} s`] : [];
  return [...found, ...strangers, ...short];
}

const isAlive = ({ atEnd, expectedAtEnd }: TrialObservation['own'][number]): boolean =>
  expectedAtEnd === null ? atEnd > 0 : atEnd >= LEAST_ALIVE_SHARE * expectedAtEnd;

/** Keys of the part's frames that are there at the end. */
const aliveOf = ({ own }: TrialObservation): Set<string> => new Set(own.filter(isAlive).map(({ key }) => key));

const unclear = (reasons: readonly string[], onsetS: number | null = null, differs = false): Judgement => ({
  verdict: 'unclear',
  reasons,
  onsetS,
  differs,
});

function asleep(observed: TrialObservation, by: JudgedBy): Judgement | null {
  const alive = aliveOf(observed);
  const last = observed.own.reduce((most, { lastS }) => Math.max(most, lastS), 0);
  if (alive.size === 0) {
    const reason =
      observed.own.length === 0
        ? 'no frame of the part was heard'
        : `no frame of the part at the end, the last at ${last.toFixed(1)} s`;
    return { verdict: 'asleep', reasons: [reason], onsetS: null, differs: true };
  }
  const onlyBare = by.bareAlive !== null && [...alive].every((key) => by.bareAlive?.has(key));
  if (!onlyBare || by.bareIsAwake) return null;
  const reasons = [`only ${[...alive].join(', ')} at the end, which the part sends with nothing sent to it`];
  return { verdict: 'asleep', reasons, onsetS: null, differs: true };
}

function onsetOf(faulty: readonly Vote[]): number | null {
  const onsets = faulty.flatMap(({ reading: { sinceS, beforeS } }) =>
    sinceS === null || beforeS === null ? [] : [sinceS],
  );
  return onsets.length > 0 ? Math.min(...onsets) : null;
}

export function judgeTrial(observed: TrialObservation, settleS: number, by: JudgedBy): Judgement {
  const wrong = troubles(observed, settleS);
  if (wrong.length > 0) return unclear(wrong);
  const sleeping = asleep(observed, by);
  if (sleeping) return sleeping;
  const votes = observed.fields.map((reading): Vote => {
    const known = by.fieldOf(reading);
    const voice = voiceOf(reading, known);
    return { reading, known, voice, words: wordsOf(reading, known, voice) };
  });
  const of = (voice: Voice): Vote[] => votes.filter((vote) => vote.voice === voice);
  const [healthy, faulty, unsettled] = [of('healthy'), of('faulty'), of('unsettled')];
  const codes = observed.codes.filter(({ code }) => !by.usualCodes.has(code));
  const codeWords = codes.map(({ code, lost }) => `fault code ${code} fails${lost ? ': lost communication' : ''}`);
  const words = (list: readonly Vote[]): string[] => list.map((vote) => vote.words);
  if (faulty.length > 0 || codes.length > 0) {
    const onsetS = onsetOf(faulty);
    const isDoubted = healthy.length > 0 && faulty.every(({ known }) => !known.isDecided) && codes.length === 0;
    if (isDoubted) return unclear(['the fields do not agree', ...words(faulty), ...words(healthy)], onsetS, true);
    return { verdict: 'awake-with-fault', reasons: [...words(faulty), ...codeWords], onsetS, differs: true };
  }
  if (unsettled.length > 0) return unclear(words(unsettled), onsetOf(unsettled), true);
  if (healthy.length === 0)
    return unclear(['no state or fault field of the part tells: give one its role in the map, or say what you see']);
  const changed = healthy.filter(
    ({ reading: { sinceS, beforeS } }) =>
      beforeS !== null && sinceS !== null && sinceS > (1 - LATE_SHARE) * observed.watchedS,
  );
  if (changed.length > 0)
    return unclear([`changed just before the end: ${words(changed).join(', ')}`], onsetOf(changed));
  const missing = [...by.usualAlive].filter((key) => !aliveOf(observed).has(key));
  if (missing.length > 0)
    return unclear([
      `of the part's own frames ${missing.join(', ')} ${missing.length === 1 ? 'is' : 'are'} missing`,
      ...words(healthy),
    ]);
  return { verdict: 'operational', reasons: words(healthy), onsetS: null, differs: false };
}
