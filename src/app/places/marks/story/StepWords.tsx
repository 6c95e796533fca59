/** The step that is held, in words: what changes, who sends it, when, how surely, and where it is missing. */
import type { ReactNode } from 'react';
import { placeWords } from '../../../../fields/place-words.ts';
import {
  delayWords,
  numbersWords,
  type Repetition,
  type Story,
  type StoryStep,
} from '../../../pictures/story-model.ts';
import { shareWords } from '../../../pictures/responders-model.ts';
import { clock } from '../../../../kit/sheet-figures.ts';
import { useMarksPlace } from '../store.ts';
import { openStep } from './commands.ts';
import { useStory } from './use-story.ts';

export function StepWords(): ReactNode {
  const { story } = useStory();
  const { step: key, below } = useMarksPlace();
  const step = story?.steps.find((one) => one.key === key);
  if (below !== 'story' || !story || !step) return null;
  const { known } = step;
  return (
    <section className="step-words">
      <h3>
        Step {step.number} <small>after {story.name}</small>
      </h3>
      <What step={step} />
      <p className="small dim">
        {known.group ? `Sent by ${known.group}${known.sender ? `, ${known.sender}` : ''}` : 'Who sends it is not known'}
        , {delayWords(step) === 'first' ? 'before all other steps' : `${delayWords(step)} after the first step`}, in{' '}
        {step.step.seen} of {story.n} repetitions{lateWords(step)}.
      </p>
      <Answer step={step} />
      <p className="small dim inferred">{sureWords(step)}</p>
      <Missing story={story} step={step} />
      <p style={{ marginTop: 8 }}>
        <button type="button" className="button" onClick={() => openStep(step)}>
          See its payload <kbd>Enter</kbd>
        </button>
      </p>
    </section>
  );
}

function What({ step: { step, known, id, from, to } }: { step: StoryStep }): ReactNode {
  if (step.kind !== 'field') {
    const others = step.frames.filter((frame) => frame.id !== step.id || frame.bus !== step.bus);
    return (
      <p>
        {step.kind === 'begins' ? 'A sender begins: ' : 'A sender falls silent: '}
        <span className="mono">{id}</span> on {step.bus} is {step.kind === 'begins' ? 'seen first' : 'seen last'}
        {others.length > 0 && (
          <>
            , and with it <span className="mono">{others.map((frame) => frame.id).join(', ')}</span>
          </>
        )}
        .
      </p>
    );
  }
  return (
    <p>
      {known.name && <b>{known.name}, </b>}
      <span className="mono">{id}</span> {placeWords(step)} on {step.bus} goes from {from.words} to {to.words}
      {from.from === 'raw' && to.from === 'raw' ? '' : ` (raw ${step.from} to ${step.to})`}.
    </p>
  );
}

function Answer({ step: { answers } }: { step: StoryStep }): ReactNode {
  if (!answers) return null;
  return (
    <p className="small inferred">
      It follows step {answers.number} as an answer does: {answers.delay} after it, all {answers.times} times in this
      recording, and never without it.
    </p>
  );
}

/** Of the repetitions that lack it, those in which it came after all. */
function lateWords({ step: { late } }: StoryStep): string {
  return late > 0 ? `, and late in ${late} more` : '';
}

function sureWords({ step }: StoryStep): string {
  if (step.q === null) return 'Done too seldom to tell it from chance.';
  const q = shareWords(step.q);
  return `q ${q}: of changes that follow as regularly as this, so large a share would be chance.`;
}

const whenWords = (atS: number): string => (atS < 0 ? 'before the recording began' : clock(atS, 1));

function Missing({ story, step }: { story: Story; step: StoryStep }): ReactNode {
  const missing = story.repetitions.filter(({ index }) => Number.isNaN(step.delayS[index] ?? Number.NaN));
  if (missing.length === 0) return null;
  const numbers = missing.map(({ index }) => index + 1);
  const when = missing.length === 1 ? ` (${whenWords((missing[0] as Repetition).atS)})` : '';
  return (
    <p className="small">
      Missing in {missing.length === 1 ? 'repetition' : 'repetitions'} {numbersWords(numbers)}
      {when}: <span className="inferred dim">the field did not change so then, or was there already.</span>
    </p>
  );
}
