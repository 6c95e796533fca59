/** Sequences of the map as C: after an event that the caller reports, whether its steps come, in time and in order. */
import { bitPositions } from '../../frames/bits.ts';
import type { SignalMap } from '../../map/schema.ts';
import { readExpression } from './bits.ts';
import type { CContext } from './context.ts';
import { fromPayload, pageCondition } from './pages.ts';
import type { CFrame } from './plan.ts';
import { planSequence, type SequencePlan, type StepPlan } from './sequence-steps.ts';
import { definition } from './statements.ts';
import { commentText, u64 } from './text.ts';

/** Guess: a person's event and the first step that answers it lie no further apart; the map does not say. */
const FIRST_US = 2_000_000;

interface CSequence {
  readonly plan: SequencePlan;
  /** "sm_sequence_key_on" */
  readonly stem: string;
}

export interface Heard {
  readonly plan: CFrame;
  /** Member of the receiver. */
  readonly member: string;
}

function stepWords({ frame, takes, delayMs, seen }: StepPlan, n: number): string {
  const what = takes ? `${frame.name}.${takes.signal.name} ${takes.from} to ${takes.to}` : `${frame.name} begins`;
  return `${what}, ${delayMs[0]} to ${delayMs[1]} ms after the first step, ${seen} of ${n}`;
}

function sequenceHeader({ plan, stem }: CSequence, { prefix }: CContext): string[] {
  const { sequence, steps, unchecked } = plan;
  const macro = stem.toUpperCase();
  return [
    `/* ${commentText(sequence.name)}, after ${commentText(sequence.event)}, seen ${sequence.n} times.`,
    ...steps.map((step, i) => `   step ${i}: ${commentText(stepWords(step, sequence.n), 240)}`),
    ...unchecked.map((words) => `   not checked: ${commentText(words)}`),
    '*/',
    `#define ${macro}_STEPS ${steps.length}u`,
    `#define ${macro}_FIRST_US UINT32_C(${FIRST_US}) /* from the event to the first step: a guess, the map does not say */`,
    'typedef struct {',
    `  ${prefix}_sequence all;`,
    `  uint8_t steps[${Math.max(1, steps.length)}]; /* 0 held since the event, 1 open, 2 done */`,
    `} ${stem};`,
    `void ${stem}_begin(${stem} *q, const ${prefix}_receiver *r, uint32_t now_us);`,
    `unsigned ${stem}_follow(${stem} *q, const ${prefix}_receiver *r, uint32_t now_us);`,
    '',
  ];
}

function holdsStatements(step: StepPlan, index: number, heard: readonly Heard[], { macro }: CContext): string[] {
  const of = heard.find(({ plan }) => plan.frame === step.frame);
  if (!of) return [];
  const place = `r->${of.member}`;
  const isHeard = `${place}.arrival.state == ${macro}_VALID`;
  if (!step.takes) return [`holds[${index}] = (uint8_t)(${isHeard});`];
  const page = pageCondition(step.takes.signal.when, of.plan.selectors, fromPayload);
  const value = `(${readExpression(bitPositions(step.takes.signal))}) == ${u64(step.takes.to)}`;
  const tests = [isHeard, page && `(${page})`, `(${value})`].filter(Boolean).join(' && ');
  return ['{', `  const uint8_t *p = ${place}.values.payload;`, `  holds[${index}] = (uint8_t)(${tests});`, '}'];
}

function sequenceSource({ plan, stem }: CSequence, heard: readonly Heard[], context: CContext): string[] {
  const { prefix } = context;
  const { steps } = plan;
  if (steps.length === 0) return [];
  const rules = steps.map(
    ({ lowUs, highUs, always, after }) =>
      `  {UINT32_C(${lowUs}), UINT32_C(${highUs}), ${always ? 1 : 0}u, ${after === null ? 0 : after + 1}u}`,
  );
  const count = `${stem.toUpperCase()}_STEPS`;
  return [
    `static const ${prefix}_step_rule ${stem}_rules[${steps.length}] = {`,
    rules.join(',\n'),
    '};',
    '',
    ...definition(
      `static void ${stem}_holds(const ${prefix}_receiver *r, uint8_t *holds)`,
      steps.flatMap((step, i) => holdsStatements(step, i, heard, context)),
    ),
    ...definition(`void ${stem}_begin(${stem} *q, const ${prefix}_receiver *r, uint32_t now_us)`, [
      `uint8_t holds[${count}];`,
      `${stem}_holds(r, holds);`,
      `${context.use('begin')}(&q->all, q->steps, holds, ${stem}_rules, ${count}, now_us);`,
    ]),
    ...definition(`unsigned ${stem}_follow(${stem} *q, const ${prefix}_receiver *r, uint32_t now_us)`, [
      `uint8_t holds[${count}];`,
      `${stem}_holds(r, holds);`,
      `${context.use('follow')}(&q->all, q->steps, holds, ${stem}_rules, ${count}, ${stem.toUpperCase()}_FIRST_US, now_us);`,
      'return q->all.result;',
    ]),
  ];
}

const RESULTS = [
  ['IDLE', 'no event yet'],
  ['WAITING', ''],
  ['DONE', 'every step that was always seen has come'],
  ['LATE', 'the step was not there in time'],
  ['EARLY', 'the step came before its time'],
  ['OUT_OF_ORDER', 'the step came before another that was always seen before it'],
] as const;

export const SEQUENCE_MACROS: readonly string[] = RESULTS.map(([name]) => `SEQUENCE_${name}`);
export const SEQUENCE_NAMES: readonly string[] = ['sequence', 'step_rule'];

const COMMENT = `/* Whether things come in the order, and within the time, in which the captures show them. Call _begin at the event, _follow
   after every frame received and at least as often as _expire; once it is late, early or out of order it stays so until
   the next _begin. Windows count from the first step and are those seen, widened by half their width, at least by two
   frames and 20 ms (a guess). A step that stayed away in some repetitions may stay away. */`;

function headerText(sequences: readonly CSequence[], context: CContext): string {
  const { macro, prefix } = context;
  return [
    COMMENT,
    ...RESULTS.map(([name, what], i) => `#define ${macro}_SEQUENCE_${name} ${i}u${what ? ` /* ${what} */` : ''}`),
    '',
    'typedef struct {',
    '  uint32_t begun_us;',
    '  uint32_t first_us; /* when the first step came */',
    '  uint8_t moving; /* the first step has come */',
    `  uint8_t result; /* ${macro}_SEQUENCE_... */`,
    '  uint8_t step; /* the step at fault; while waiting the first that is open */',
    `} ${prefix}_sequence;`,
    '',
    ...sequences.flatMap((sequence) => sequenceHeader(sequence, context)),
  ].join('\n');
}

export const sequenceMacros = (stem: string): string[] =>
  ['STEPS', 'FIRST_US'].map((name) => `${stem.toUpperCase()}_${name}`);

/** The types, functions and macros that come with a sequence. */
export const sequenceNames = (stem: string): string[] => [
  stem,
  ...['begin', 'follow', 'rules', 'holds'].map((verb) => `${stem}_${verb}`),
  ...sequenceMacros(stem),
];

export interface SequenceText {
  readonly header: string;
  readonly source: string;
}

/** @param stems [sequences of the map]. Sequences without a step that can be checked are left out, and those of 255 or more: steps are counted in a byte. */
export function sequenceText(
  map: SignalMap,
  stems: readonly string[],
  heard: readonly Heard[],
  context: CContext,
): SequenceText {
  const sequences = map.sequences
    .map((sequence, i): CSequence => ({ plan: planSequence(sequence, map.frames), stem: stems[i] as string }))
    .filter(({ plan: { steps } }) => steps.length > 0 && steps.length < 255);
  if (sequences.length === 0) return { header: '', source: '' };
  return {
    header: headerText(sequences, context),
    source: sequences.flatMap((sequence) => sequenceSource(sequence, heard, context)).join('\n'),
  };
}
