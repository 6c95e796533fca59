/**
 * A sequence as a story to read: steps in their order with names, values and who sends them, and its repetitions, each with what it
 * lacks. Delays count from the first step of their repetition, as a person's mark is early or late.
 */
import type { SenderStep, Sequence, SequenceStep } from '../../actions/types.ts';
import { placeWords } from '../../fields/place-words.ts';
import { displayId } from '../../kit/units.ts';
import { placementKey } from './bands-words.ts';

/** What others know of a step's field. */
export interface FieldKnown {
  /** Letter of who sends it, and that sender's name; null and '' where not known. */
  readonly group: string | null;
  readonly sender: string;
  /** As the person named it, or null. */
  readonly name: string | null;
  /** Unsigned raw value in decimal -> name, as given by hand. */
  readonly states: Readonly<Record<string, string>>;
  /** The same as the marks tell it. */
  readonly marked: Readonly<Record<string, string>>;
}

export interface ValueTold {
  readonly words: string;
  /** 'raw': a bare number; 'marked': a name that only the marks tell. */
  readonly from: 'raw' | 'given' | 'marked';
}

export interface StoryStep {
  readonly key: string;
  /** From 1. */
  readonly number: number;
  readonly step: SequenceStep;
  readonly known: FieldKnown;
  /** "0x1F4". */
  readonly id: string;
  /** Its bus where another step has the same identifier on another one, else ''. */
  readonly bus: string;
  /** The given name, else where the field lies; of a sender, how many frames it sends, or ''. */
  readonly name: string;
  readonly from: ValueTold;
  readonly to: ValueTold;
  /** [repetitions] seconds since the repetition's first step; NaN in those that lack it. */
  readonly delayS: readonly number[];
  readonly middleS: number;
  /** Number of the step that it follows as an answer does, and the delay in words; null where it answers none. */
  readonly answers: { readonly number: number; readonly delay: string; readonly times: number } | null;
}

export interface Repetition {
  readonly index: number;
  /** When it was done, as marked. */
  readonly atS: number;
  /** Its first and its last step; both the mark where it has none. */
  readonly beginS: number;
  readonly endS: number;
  /** Numbers of the steps that it lacks. */
  readonly missing: readonly number[];
}

export interface Story {
  readonly name: string;
  readonly action: string;
  readonly n: number;
  /** Beyond chance; else it was done too seldom to tell. */
  readonly isSure: boolean;
  readonly words: string;
  readonly steps: readonly StoryStep[];
  readonly repetitions: readonly Repetition[];
  /** Longest delay, at least a hundredth of a second. */
  readonly spanS: number;
}

const known = (atS: readonly (number | null)[]): number[] => atS.filter((at) => at !== null);
const middle = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0;

function toldValue(raw: number, { states, marked }: FieldKnown): ValueTold {
  const [given, said] = [states[String(raw)], marked[String(raw)]];
  if (given) return { words: given, from: 'given' };
  return said ? { words: said, from: 'marked' } : { words: String(raw), from: 'raw' };
}

function repetitionOf(sequence: Sequence, index: number): Repetition {
  const atS = sequence.atS[index] as number;
  const times = known(sequence.steps.map((step) => step.atS[index] ?? null));
  const missing = sequence.steps.flatMap((step, k) => ((step.atS[index] ?? null) === null ? [k + 1] : []));
  const [beginS, endS] = times.length > 0 ? [Math.min(...times), Math.max(...times)] : [atS, atS];
  return { index, atS, beginS, endS, missing };
}

const whatKey = (step: SequenceStep): string =>
  step.kind === 'field' ? `${placementKey(step, step.when)} ${step.from} ${step.to}` : step.kind;

export const stepKey = (step: SequenceStep): string =>
  `${step.bus} ${step.id}${step.extended ? 'x' : ''} ${whatKey(step)}`;

/** What a sender does. */
export const turnWords = ({ kind }: SenderStep): string => (kind === 'begins' ? 'begins to send' : 'falls silent');

const framesWords = ({ frames }: SenderStep): string => (frames.length > 1 ? `${frames.length} frames` : '');

const plainValue = (words: string): ValueTold => ({ words, from: 'given' });

function valuesOf(step: SequenceStep, about: FieldKnown): Pick<StoryStep, 'name' | 'from' | 'to'> {
  if (step.kind === 'field')
    return { name: about.name ?? placeWords(step), from: toldValue(step.from, about), to: toldValue(step.to, about) };
  const [silent, sending] = [plainValue('silent'), plainValue('sending')];
  const [from, to] = step.kind === 'begins' ? [silent, sending] : [sending, silent];
  return { name: framesWords(step), from, to };
}

function answerOf(step: SequenceStep): StoryStep['answers'] {
  if (step.kind !== 'field' || !step.answers) return null;
  const { step: index, delayMs, times } = step.answers;
  return { number: index + 1, delay: spanWords(delayMs), times };
}

export function storyOf(sequence: Sequence, knownOf: (step: SequenceStep) => FieldKnown): Story {
  const repetitions = sequence.atS.map((_, index) => repetitionOf(sequence, index));
  const steps = sequence.steps.map((step, k): StoryStep => {
    const about = knownOf(step);
    const delayS = step.atS.map((at, index) =>
      at === null ? Number.NaN : at - (repetitions[index] as Repetition).beginS,
    );
    return {
      key: stepKey(step),
      number: k + 1,
      step,
      known: about,
      id: displayId(Number(step.id), step.extended),
      bus: sequence.steps.some(({ id, bus }) => id === step.id && bus !== step.bus) ? step.bus : '',
      ...valuesOf(step, about),
      answers: answerOf(step),
      delayS,
      middleS: middle(delayS.filter((delay) => !Number.isNaN(delay))),
    };
  });
  return {
    name: sequence.name,
    action: sequence.event,
    n: sequence.n,
    isSure: sequence.steps.some(({ q }) => q !== null),
    words: sequence.words,
    steps,
    repetitions,
    spanS: Math.max(0.01, ...steps.flatMap(({ delayS }) => delayS.filter((delay) => !Number.isNaN(delay)))),
  };
}

/** "first", "23 to 37 ms", "326 ms", "1.2 to 1.6 s": since the first step. */
export function delayWords({ step }: Pick<StoryStep, 'step'>): string {
  return step.delayMs[1] < 1 ? 'first' : spanWords(step.delayMs);
}

function spanWords([low, high]: readonly [number, number]): string {
  const inMs = high < 995;
  const [a, b] = [low, high].map((ms) => (inMs ? ms.toFixed(0) : (ms / 1000).toFixed(1))) as [string, string];
  const from = a === '0.0' ? '0' : a;
  return `${a === b ? b : `${from} to ${b}`} ${inMs ? 'ms' : 's'}`;
}

/** The span of time that shows a repetition whole, with room on both sides. */
export function viewOf({ atS, beginS, endS }: Repetition): { readonly fromS: number; readonly toS: number } {
  const [from, to] = [Math.min(atS, beginS), Math.max(atS, endS)];
  const room = Math.max(1.5, 0.25 * (to - from));
  return { fromS: from - room, toS: to + room };
}

/** Numbers of steps as a person lists them: "3", "3 and 5", "3, 5 and 8". */
export function numbersWords(numbers: readonly number[]): string {
  if (numbers.length < 2) return numbers.join('');
  return `${numbers.slice(0, -1).join(', ')} and ${numbers.at(-1)}`;
}
