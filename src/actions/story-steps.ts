/** What is kept of the trials, as steps: in order, with delays, what each answers, and when it came about. */
import { bitPositions } from '../frames/bits.ts';
import { placeOfCandidate } from '../map/proposed-fields.ts';
import { answersOf, type AnswerSide } from './answers.ts';
import type { FrameName, Presence, SenderOf } from './presence.ts';
import { usualIntervalS } from './reaction.ts';
import { rawOf } from './states.ts';
import { middle, type EventTimes, type Trial } from './trials.ts';
import type { FieldStep, SenderStep, SequenceStep } from './types.ts';

export interface Judged {
  /** The times that the trials count from. */
  readonly event: EventTimes;
  readonly kept: readonly Trial[];
  /** Empty where the event was too seldom. */
  readonly q: ReadonlyMap<Trial, number>;
  readonly isRepeated: boolean;
}

/** Of one place on several pages that does the same, the first page stands for all. */
function withoutCopies(inOrder: readonly Trial[]): readonly Trial[] {
  const seen = new Set<string>();
  return inOrder.filter(({ teller, from, to }) => {
    if (teller.kind === 'frames') return true;
    const { stream, field } = teller.candidate;
    const key = JSON.stringify([stream.index, bitPositions(field), from, to]);
    const isNew = !seen.has(key);
    seen.add(key);
    return isNew || field.when === null;
  });
}

/** The frame that was seen first, or last, most often. */
function usualFrame({ frames, changes, which }: Presence, isSending: boolean): FrameName {
  const counts = frames.map(
    (_, frame) => which.filter((one, k) => one === frame && changes[k]?.isSending === isSending).length,
  );
  return frames[counts.indexOf(Math.max(...counts))] as FrameName;
}

type Told = Omit<FieldStep, keyof ReturnType<typeof placeOfCandidate> | 'kind' | 'from' | 'to' | 'answers'>;

function stepOf({ teller, from, to }: Trial, told: Told, answers: FieldStep['answers']): FieldStep | SenderStep {
  if (teller.kind === 'frames') {
    const { frames } = teller.presence;
    return { kind: to === 1 ? 'begins' : 'falls-silent', ...usualFrame(teller.presence, to === 1), ...told, frames };
  }
  const { length } = teller.candidate.field;
  const place = placeOfCandidate(teller.candidate);
  return { kind: 'field', ...place, from: rawOf(from, length), to: rawOf(to, length), ...told, answers };
}

function sideOf({ teller, from, to }: Trial, atS: readonly (number | null)[], senderOf: SenderOf): AnswerSide | null {
  if (teller.kind === 'frames') return null;
  const { frame, field, stream } = teller.candidate;
  return {
    atS: atS.map((at) => at ?? Number.NaN),
    changes: teller.changes.filter((change) => change.from === from && change.to === to),
    sender: senderOf(frame),
    isFlag: field.kind === 'flag',
    intervalS: usualIntervalS(stream.timeUs),
  };
}

const WHOLE_SHARE = 0.5;

/** Delays from the story's first step of each repetition, which holds no reaction time of the person's. */
export function stepsOf({ kept, q, event }: Judged, senderOf: SenderOf): SequenceStep[] {
  const inOrder = withoutCopies([...kept].sort((a, b) => middle(a) - middle(b)));
  const repetitions = inOrder[0]?.delayS.length ?? 0;
  const begins = Array.from({ length: repetitions }, (_, k) =>
    Math.min(...inOrder.map(({ delayS }) => delayS[k] as number).filter((delay) => !Number.isNaN(delay))),
  );
  const seenIn = begins.map((_, k) => inOrder.filter(({ delayS }) => !Number.isNaN(delayS[k] as number)).length);
  // A repetition that lacks most steps (marked by mistake, as a rule) lacks the first one too, so that delays since then say nothing.
  const isTold = (k: number): boolean => (seenIn[k] as number) >= WHOLE_SHARE * Math.max(...seenIn);
  const told = inOrder.map((trial): Told => {
    const { delayS, seen, late } = trial;
    const known = [...delayS.keys()].filter((k) => !Number.isNaN(delayS[k] as number));
    const counted = known.some(isTold) ? known.filter(isTold) : known;
    const since = counted.map((k) => 1000 * ((delayS[k] as number) - (begins[k] as number)));
    return {
      delayMs: [Math.round(Math.min(...since)), Math.round(Math.max(...since))],
      seen,
      late,
      q: q.get(trial) ?? null,
      atS: delayS.map((delay, k) => (Number.isNaN(delay) ? null : (event.atS[k] as number) + delay)),
    };
  });
  const answers = answersOf(inOrder.map((trial, k) => sideOf(trial, (told[k] as Told).atS, senderOf)));
  return inOrder.map((trial, k) => stepOf(trial, told[k] as Told, answers[k] ?? null));
}
