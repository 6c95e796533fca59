/**
 * What happens when the key turns: for each action that was marked, the changes of states and flags that follow it each time, and the senders that
 * begin and fall silent, one behind the other.
 * A change belongs to the story where it comes about as long after the action more often than such changes fall into so short a time by chance
 * (binomial, every place within the window counted as a try; Benjamini and Hochberg 1995 over all that was asked). What an action
 * done once or twice shows cannot be told from chance so and is said to be seen once or twice.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import { benjaminiHochberg } from '../kit/statistics/false-discovery.ts';
import { median } from '../kit/statistics/order.ts';
import type { ProposedFrame } from '../map/proposed-fields.ts';
import type { FrameName, SenderOf } from './presence.ts';
import { stepsOf, type Judged } from './story-steps.ts';
import { tellersOf, type Teller } from './tellers.ts';
import { middle, trialsOf, type EventTimes, type Trial } from './trials.ts';
import type { Mark, Sequence, SequenceStep } from './types.ts';

const Q_MOST = 0.05;
const SEEN_SHARE = 0.6;
/** Below this many repetitions nothing is beyond chance among hundreds of fields. */
const REPEATED = 3;
/** What was done once or twice tells only of fields that hardly ever change: fewer changes than this in a window's length. */
const USUAL_MOST = 0.5;

/** "key turned: start" where marks of an action carry several values; the end of a span is an event of its own. */
function eventsOf(marks: readonly Mark[]): EventTimes[] {
  const times = new Map<string, { action: string; atS: number[] }>();
  const add = (name: string, action: string, atS: number): void => {
    const own = times.get(name) ?? { action, atS: [] };
    times.set(name, own);
    own.atS.push(atS);
  };
  for (const { action, value, startS, endS } of marks) {
    const values = new Set(marks.filter((mark) => mark.action === action).map((mark) => mark.value ?? ''));
    const name = value && values.size > 1 ? `${action}: ${value}` : action;
    add(name, action, startS);
    if (endS !== null) add(`${name}, end`, action, endS);
  }
  return [...times].map(([name, { action, atS }]) => ({ name, action, atS: atS.sort((a, b) => a - b) }));
}

function sequenceWords(event: EventTimes, steps: readonly SequenceStep[], isRepeated: boolean): string {
  const n = event.atS.length;
  const often = n === 1 ? 'once' : `${n} times`;
  if (!isRepeated) {
    const seen =
      steps.length > 0 ? 'what is listed followed it each time, and may be chance' : 'nothing followed it each time';
    return `done ${often}: ${seen}; do it ${REPEATED + 2 - n} more times`;
  }
  return steps.length > 0 ? '' : `no state or flag changes in step with it, of ${n} repetitions`;
}

function judge(tellers: readonly Teller[], event: EventTimes, durationS: number): Judged {
  const trials = tellers.flatMap((teller) => [...trialsOf(teller, event, durationS)]);
  const n = event.atS.length;
  if (n < REPEATED) {
    const kept = trials.filter(({ seen, usual }) => seen === n && usual <= USUAL_MOST);
    return { event, kept, q: new Map(), isRepeated: false };
  }
  const values = benjaminiHochberg(trials.map(({ p }) => p));
  const q = new Map(trials.map((trial, index) => [trial, values[index] as number]));
  const kept = trials.filter((trial) => (q.get(trial) as number) <= Q_MOST && trial.seen >= SEEN_SHARE * n);
  return { event, kept, q, isRepeated: true };
}

/** What comes later than this has a spread of its own, or belongs to what is done next. */
const NEAR_S = 2;

/** The event's times moved to where the steps say that it was: a person's mark is early or late by as much for all of them. */
function settled(event: EventTimes, all: readonly Trial[]): EventTimes {
  const near = all.filter((trial) => Math.abs(middle(trial)) <= NEAR_S);
  const kept = near.length > 0 ? near : all;
  const usual = kept.map(middle);
  const atS = event.atS.map((at, k) => {
    const late = kept
      .map(({ delayS }, index) => (delayS[k] as number) - (usual[index] as number))
      .filter((each) => !Number.isNaN(each));
    return late.length > 0 ? at + median(late) : at;
  });
  return { ...event, atS };
}

/** Rounds of moving the marks: a mark far off is drawn in by the steps that it reaches, then by the others. */
const ROUNDS = 3;

function judgeSettled(tellers: readonly Teller[], event: EventTimes, durationS: number): Judged {
  let judged = judge(tellers, event, durationS);
  let moved = event;
  for (let round = 1; round < ROUNDS && judged.kept.length > 0; round++) {
    moved = settled(moved, judged.kept);
    judged = judge(tellers, moved, durationS);
  }
  return judged;
}

export interface SequenceInput {
  readonly table: FrameTable;
  readonly findings: readonly ProposedFrame[];
  /** On the capture's clock. */
  readonly marks: readonly Mark[];
  /** Who sends which frame, as far as that is known. */
  readonly senders?: readonly (FrameName & { readonly group: string | null })[];
}

const senderIn = (senders: NonNullable<SequenceInput['senders']>): SenderOf => {
  const nameOf = ({ bus, id, extended }: FrameName): string => `${bus} ${Number(id)} ${extended}`;
  const known = new Map(senders.map((frame) => [nameOf(frame), frame.group]));
  return (frame) => known.get(nameOf(frame)) ?? null;
};

/** One sequence for each event of the marks, those with most steps first. Cost: one read of each field, then O(changes x events). */
export async function findSequences(
  { table, findings, marks, senders = [] }: SequenceInput,
  control: Control,
): Promise<readonly Sequence[]> {
  const durationS = Math.max(1, table.endUs / 1e6);
  const senderOf = senderIn(senders);
  const tellers = await tellersOf(table, findings, senderOf, control);
  const sequences = eventsOf(marks).map((event): Sequence => {
    const judged = judgeSettled(tellers, event, durationS);
    const steps = stepsOf(judged, senderOf);
    return {
      name: event.name,
      event: event.action,
      n: event.atS.length,
      atS: event.atS,
      steps,
      words: sequenceWords(event, steps, judged.isRepeated),
    };
  });
  await checkpoint(control, 1, 'sequences found');
  return sequences.sort((a, b) => b.steps.length - a.steps.length);
}
