/**
 * What happens when the key turns: for each action that was marked, the changes of states and flags that follow it each time, one behind the other.
 * A change belongs to the story where it comes about as long after the action more often than such changes fall into so short a time by chance
 * (binomial, every place within the window counted as a try; Benjamini and Hochberg 1995 over all that was asked). What an action
 * done once or twice shows cannot be told from chance so and is said to be seen once or twice.
 */
import { bitPositions } from '../frames/bits.ts';
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import { benjaminiHochberg } from '../kit/statistics/false-discovery.ts';
import { binomialTail } from '../kit/statistics/distributions.ts';
import { median } from '../kit/statistics/order.ts';
import {
  candidatesOf,
  placeOfCandidate,
  seriesOf,
  type Candidate,
  type ProposedFrame,
} from '../map/proposed-fields.ts';
import { rawOf } from './states.ts';
import type { Mark, Sequence, SequenceStep } from './types.ts';

/** A person marks about so long before or after; then the window runs to the next mark of the kind or this far. */
const BEFORE_S = 0.8;
const AFTER_S = 12;
/** A field with more different values than this is a number, and no step is one of its values; what was taken for a number has fewer yet. */
const VALUES_MOST = 16;
const NUMBER_VALUES_MOST = 6;
/** Changes a minute above which a field is too restless to tell a story. */
const CHANGES_A_MINUTE = 20;
/** Delays that differ by no more than this, or by so large a share of the delay, are one step's. */
const SPREAD_S = 0.4;
const SPREAD_SHARE = 0.35;
const Q_MOST = 0.05;
const SEEN_SHARE = 0.6;
/** Below this many repetitions nothing is beyond chance among hundreds of fields. */
const REPEATED = 3;
/** What was done once or twice tells only of fields that hardly ever change: fewer changes than this in a window's length. */
const USUAL_MOST = 0.5;

interface Change {
  readonly atS: number;
  readonly from: number;
  readonly to: number;
}

interface Teller {
  readonly candidate: Candidate;
  readonly changes: readonly Change[];
}

/** All changes of a field that holds few values, or null where it is a number or restless. */
function changesOf(candidate: Candidate, durationS: number): readonly Change[] | null {
  const { timeUs, value } = seriesOf(candidate);
  const most = Math.max(20, (CHANGES_A_MINUTE * durationS) / 60);
  const valuesMost = candidate.field.kind === 'number' ? NUMBER_VALUES_MOST : VALUES_MOST;
  const values = new Set<number>();
  const changes: Change[] = [];
  for (let k = 0; k < value.length; k++) {
    const now = value[k] as number;
    if (!values.has(now) && values.add(now).size > valuesMost) return null;
    if (k === 0 || now === value[k - 1]) continue;
    changes.push({ atS: (timeUs[k] as number) / 1e6, from: value[k - 1] as number, to: now });
    if (changes.length > most) return null;
  }
  return changes;
}

interface EventTimes {
  readonly name: string;
  readonly action: string;
  readonly atS: readonly number[];
}

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

/** Ends of the windows: the next event of the kind, or the reach of one. */
const windowsOf = ({ atS }: EventTimes): [number, number][] =>
  atS.map((at, k) => [at - BEFORE_S, Math.min(at + AFTER_S, (atS[k + 1] ?? Infinity) - BEFORE_S)]);

interface Trial {
  readonly teller: Teller;
  readonly from: number;
  readonly to: number;
  /** [repetitions] seconds after the event, NaN where it did not come about then. */
  readonly delayS: readonly number[];
  readonly seen: number;
  /** Repetitions in which it came about, but later than what is one step's. */
  readonly late: number;
  readonly p: number;
  /** Changes of the field, of any kind, that a window as long as this holds anywhere. */
  readonly usual: number;
}

/** As many delays as lie within one step's spread of each other, one a repetition. */
function cluster(delays: readonly (readonly number[])[]): number[] {
  const starts = delays.flat();
  let best: number[] = delays.map(() => Number.NaN);
  let bestSeen = 0;
  for (const start of starts) {
    const width = Math.max(SPREAD_S, SPREAD_SHARE * Math.abs(start));
    const own = delays.map((each) => each.find((delay) => delay >= start && delay <= start + width) ?? Number.NaN);
    const seen = own.filter((delay) => !Number.isNaN(delay)).length;
    if (seen > bestSeen) [best, bestSeen] = [own, seen];
  }
  return best;
}

/** Repetitions without the step that have the same change behind where it is due. */
function lateIn(delays: readonly (readonly number[])[], delayS: readonly number[]): number {
  const latest = Math.max(...delayS.filter((delay) => !Number.isNaN(delay)));
  return delays.filter((each, k) => Number.isNaN(delayS[k] as number) && each.some((delay) => delay > latest)).length;
}

function* trialsOf(teller: Teller, event: EventTimes, durationS: number): Generator<Trial> {
  const windows = windowsOf(event);
  const kinds = new Map<string, Change[]>();
  for (const change of teller.changes) {
    const key = `${change.from} ${change.to}`;
    kinds.set(key, [...(kinds.get(key) ?? []), change]);
  }
  for (const changes of kinds.values()) {
    const delays = windows.map(([fromS, toS], k) =>
      changes.filter(({ atS }) => atS >= fromS && atS < toS).map(({ atS }) => atS - (event.atS[k] as number)),
    );
    const delayS = cluster(delays);
    const known = delayS.filter((delay) => !Number.isNaN(delay));
    if (known.length === 0) continue;
    const { from, to } = changes[0] as Change;
    const widthS = Math.max(SPREAD_S, SPREAD_SHARE * Math.abs(Math.min(...known)));
    const chance = 1 - Math.exp((-changes.length * widthS) / durationS);
    const tries = (BEFORE_S + AFTER_S) / widthS;
    const p = Math.min(1, tries * binomialTail(known.length, windows.length, chance));
    yield {
      teller,
      from,
      to,
      delayS,
      seen: known.length,
      late: lateIn(delays, delayS),
      p,
      usual: (teller.changes.length * (BEFORE_S + AFTER_S)) / durationS,
    };
  }
}

const middle = ({ delayS }: Trial): number => median(delayS.filter((delay) => !Number.isNaN(delay)));

/** Of one place on several pages that does the same, the first page stands for all. */
function withoutCopies(inOrder: readonly Trial[]): readonly Trial[] {
  const seen = new Set<string>();
  return inOrder.filter(({ teller: { candidate }, from, to }) => {
    const { stream, field } = candidate;
    const key = JSON.stringify([stream.index, bitPositions(field), from, to]);
    const isNew = !seen.has(key);
    seen.add(key);
    return isNew || field.when === null;
  });
}

/** Delays from the story's first step of each repetition, which holds no reaction time of the person's. */
function stepsOf({ kept, q, event }: Judged): SequenceStep[] {
  const inOrder = withoutCopies([...kept].sort((a, b) => middle(a) - middle(b)));
  const repetitions = inOrder[0]?.delayS.length ?? 0;
  const begins = Array.from({ length: repetitions }, (_, k) =>
    Math.min(...inOrder.map(({ delayS }) => delayS[k] as number).filter((delay) => !Number.isNaN(delay))),
  );
  return inOrder.map((trial) => {
    const { teller, from, to, delayS, seen, late } = trial;
    const since = delayS.flatMap((delay, k) => (Number.isNaN(delay) ? [] : [1000 * (delay - (begins[k] as number))]));
    return {
      ...placeOfCandidate(teller.candidate),
      from: rawOf(from, teller.candidate.field.length),
      to: rawOf(to, teller.candidate.field.length),
      delayMs: [Math.round(Math.min(...since)), Math.round(Math.max(...since))],
      seen,
      late,
      q: q.get(trial) ?? null,
      atS: delayS.map((delay, k) => (Number.isNaN(delay) ? null : (event.atS[k] as number) + delay)),
    };
  });
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

interface Judged {
  /** The times that the trials count from. */
  readonly event: EventTimes;
  readonly kept: readonly Trial[];
  /** Empty where the event was too seldom. */
  readonly q: ReadonlyMap<Trial, number>;
  readonly isRepeated: boolean;
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

/** The event's times moved to where the steps say that it was: a person's mark is early or late by as much for all of them. */
function settled(event: EventTimes, kept: readonly Trial[]): EventTimes {
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
}

/** One sequence for each event of the marks, those with most steps first. Cost: one read of each field, then O(changes x events). */
export async function findSequences(
  { table, findings, marks }: SequenceInput,
  control: Control,
): Promise<readonly Sequence[]> {
  const durationS = Math.max(1, table.endUs / 1e6);
  const candidates = candidatesOf(table, findings).filter(({ field }) => field.coding === 'unsigned');
  const tellers: Teller[] = [];
  for (const [index, candidate] of candidates.entries()) {
    if (index % 16 === 0) await checkpoint(control, index / candidates.length, 'changes of states');
    const changes = changesOf(candidate, durationS);
    if (changes && changes.length > 0) tellers.push({ candidate, changes });
  }
  const sequences = eventsOf(marks).map((event): Sequence => {
    const judged = judgeSettled(tellers, event, durationS);
    const steps = stepsOf(judged);
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
