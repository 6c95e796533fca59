/** What the verb `bench` says: the checklist, the trials so far, what is next, what is known of each frame. */
import { checklistState } from '../handover/bench/checklist.ts';
import type { FrameConclusion } from '../handover/bench/conclusions.ts';
import type { BenchState, BenchStep } from '../handover/bench/next-step.ts';
import type { BenchRecord } from '../handover/bench/record-schema.ts';
import type { MeasuredTimeout } from '../handover/bench/timeouts.ts';
import { heldBackText } from './held-back-text.ts';
import { textTable, wrapped } from './text-table.ts';

const TRIALS_SHOWN = 12;
const line = (text: string): string => wrapped(text, 100, '  ');

function checklistText(record: BenchRecord): string {
  const { items } = checklistState(record);
  const rows = items.map(({ item, answer, state }) => [
    item.name,
    item.title,
    answer?.value === null || answer?.value === undefined ? '' : `${answer.value} ${answer.unit}`.trim(),
    state.replace('-', ' '),
    item.isSafety ? 'before any trial' : '',
  ]);
  const heads = ['item', 'wiring checklist', 'measured', 'state', ''].map((head) => ({ head }));
  return textTable(heads, rows);
}

function trialsText({ judged, counting }: BenchState): string {
  if (judged.length === 0) return '';
  const out = new Map(counting.leftOut.map(({ trial, why }) => [trial, why]));
  const shown = judged.slice(-TRIALS_SHOWN);
  const rows = shown.map(({ trial, verdict, reasons }) => [
    String(trial.number),
    trial.aim,
    String(trial.sent.length),
    verdict.replaceAll('-', ' '),
    out.has(trial.number) ? `does not count: ${out.get(trial.number)}` : (reasons[0] ?? ''),
  ]);
  const heads = [
    { head: 'trial', right: true },
    { head: 'asks' },
    { head: 'frames', right: true },
    { head: 'verdict' },
    { head: 'because' },
  ];
  const earlier = judged.length - shown.length;
  return [...(earlier > 0 ? [`${earlier} earlier trials (--json)`] : []), textTable(heads, rows)].join('\n');
}

function boundsLine({ bounds }: BenchState): string {
  const { candidates, expectedTrials, expectedByNeeded, mostTrials, mostIfDisturbed } = bounds;
  const each = expectedByNeeded.map((trials, needed) => `${needed}: ${trials}`).join(', ');
  return line(
    `${candidates} frames in question: about ${expectedTrials} trials, ${mostTrials} at most (by frames needed jointly ${each}). Where a frame disturbs the part ${mostIfDisturbed} at most.`,
  );
}

const SURE = 'To say that you are sure of the wiring: --wiring-sure WHAT-WAS-CHECKED --by NAME.';

export function stepText(step: BenchStep): string {
  switch (step.kind) {
    case 'measure':
      return ['No trial yet. Measure and answer first:', ...step.forbids.map((each) => `- ${line(each)}`)].join('\n');
    case 'trial':
      return [
        line(
          `Next: trial ${step.trial.number} (${step.trial.aim}), ${step.trial.sent.length} frames, ${step.trial.sleepS} s without supply before, ${step.trial.settleS} s watched. Its files: --next -o DIR; its recording: --trial ${step.trial.number} CAPTURE.`,
        ),
        ...step.warns.map((each) => `- ${line(each)}`),
      ].join('\n');
    case 'found':
      return [
        line(
          step.needed.length === 0
            ? 'The part works with nothing sent.'
            : `A minimal set of ${step.needed.length}: ${step.needed.join(', ')}. None of it can be left out; there may be other such sets.`,
        ),
        ...(step.replaceable.length > 0
          ? [line(`Another frame may take the place of ${step.replaceable.join(', ')}.`)]
          : []),
      ].join('\n');
    case 'checklist-first':
      return ['The wiring first.', ...step.reasons.map((each) => `- ${line(each)}`), SURE].join('\n');
    case 'fault-stays':
      return line(
        `Everything sent no longer works, even after ${step.sleptS} s without supply: a fault stays. Clear its fault codes with a tester or find what broke, then set the trials aside that it spoiled (--set-aside).`,
      );
    case 'cannot-tell':
      return [
        `Trial ${step.trial.number} of this set was unclear again and again. Say what the part does (--seen), or mend this:`,
        ...step.reasons.map((each) => `- ${line(each)}`),
      ].join('\n');
    case 'nothing-to-try':
      return step.reasons.map((each) => line(each)).join('\n');
    case 'bound-reached':
      return line(
        `The bound of trials is reached without a certain answer. Known to be needed: ${step.known.join(', ') || 'none'}.`,
      );
  }
}

function conclusionsText(conclusions: readonly FrameConclusion[], record: BenchRecord): string {
  const names = new Map(record.candidates.map(({ key, name }) => [key, name]));
  const known = conclusions.filter(({ verdict }) => verdict !== 'untested');
  if (known.length === 0) return '';
  const tally = ({ n, works }: FrameConclusion['withIt']): string => `${works} of ${n}`;
  const rows = known.map((each) => [
    each.key,
    names.get(each.key) ?? '',
    `${each.verdict.replace('-', ' ')}${each.replaceable ? ' (replaceable)' : ''}`,
    tally(each.withIt),
    tally(each.withoutIt),
  ]);
  const heads = ['frame', 'name', 'need', 'worked with it', 'without it'].map((head) => ({ head }));
  return textTable(heads, rows);
}

function setOutLine({ setOut }: BenchState): string {
  if (setOut.length === 0) return '';
  return line(
    `Left out since a set was found that works: ${setOut.join(', ')}. With everything sent the part does not work, so one of these at least disturbs it; which, is not told. That no other frame disturbs is taken for granted.`,
  );
}

const timeoutLine = ({ key, lowMs, highMs, trials, bornMs }: MeasuredTimeout): string =>
  trials.length > 0
    ? `${key}: its silence is noticed after ${lowMs} to ${highMs} ms (${trials.length} trials)`
    : `${key}: its silence was borne for ${bornMs} ms`;

export interface BenchShown {
  readonly record: BenchRecord;
  readonly state: BenchState;
  readonly conclusions: readonly FrameConclusion[];
  readonly timeouts: readonly MeasuredTimeout[];
}

export function benchText({ record, state, conclusions, timeouts }: BenchShown): string {
  return [
    checklistText(record),
    heldBackText(record.heldBack, 'frames are held back:'),
    boundsLine(state),
    setOutLine(state),
    trialsText(state),
    conclusionsText(conclusions, record),
    timeouts.map(timeoutLine).join('\n'),
    stepText(state.step),
  ]
    .filter(Boolean)
    .join('\n\n');
}
