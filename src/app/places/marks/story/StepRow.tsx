/** A step: its number, who sends it and which field; value to value; when, on the axis of the story; and in how many repetitions. */
import { useMemo, type ReactNode } from 'react';
import { delayWords, turnWords, type Story, type StoryStep, type ValueTold } from '../../../pictures/story-model.ts';
import { STEP_HEIGHT, stepScene } from '../../../pictures/story-scene.ts';
import { GroupTag } from '../../../shell/GroupTag.tsx';
import { Picture } from '../../../surface/Picture.tsx';
import { groupColor } from '../../../../kit/drawing/palette.ts';
import { holdStep } from './commands.ts';

export interface StepRowProps {
  readonly id: string;
  readonly story: Story;
  readonly step: StoryStep;
  readonly above: StoryStep | null;
  readonly below: StoryStep | null;
  readonly held: boolean;
  readonly repetition: number | null;
}

const senderWords = ({ known }: StoryStep): string =>
  known.sender || (known.group ? `sender ${known.group}` : 'sender not known');

export function StepRow({ id, story, step, above, below, held, repetition }: StepRowProps): ReactNode {
  const { known, number, name, delayS, middleS, from, to, answers } = step;
  const { group } = known;
  const scene = useMemo(
    () =>
      stepScene({
        delayS,
        middleS,
        aboveS: above?.middleS ?? null,
        belowS: below ? middleS : null,
        spanS: story.spanS,
        color: (palette) => groupColor(palette, group),
        isSure: step.step.q !== null,
        held: repetition,
      }),
    [delayS, middleS, above, below, story.spanS, group, step.step.q, repetition],
  );
  const lacks = repetition !== null && Number.isNaN(delayS[repetition] ?? Number.NaN);
  const seen = `${step.step.seen} of ${story.n}`;
  return (
    <div
      id={id}
      role="option"
      aria-selected={held}
      aria-label={`Step ${number}: ${step.id} ${name}${step.bus && ` on ${step.bus}`}, ${senderWords(step)}, ${whatWords(step)}, ${delayWords(step)}, seen ${seen}${answers ? `, answers step ${answers.number}` : ''}${lacks ? ', missing in this repetition' : ''}`}
      className={`row story-step ${held ? 'held-step' : ''} ${lacks ? 'lacks' : ''}`}
      onClick={(event) => {
        holdStep(story, step);
        event.currentTarget.parentElement?.focus({ preventScroll: true });
      }}
    >
      <div className="story-who">
        <span className="story-place tiny dim">{number}</span>
        {group ? <GroupTag group={group} /> : <span className="group-tag none" />}
        <span className="story-field">
          {known.name ? <b>{name}</b> : <span className="mono">{step.id}</span>}
          {!known.name && (
            <small className="dim">
              {name} {step.bus}
            </small>
          )}
        </span>
      </div>
      <div className="story-cells">
        <span className="story-values">
          {step.step.kind === 'field' ? (
            <>
              <Told value={from} /> <span className="dimmer">→</span> <Told value={to} />
            </>
          ) : (
            turnWords(step.step)
          )}
          {answers && <span className="dim story-answers">answers {answers.number}</span>}
        </span>
        <Picture label="" height={STEP_HEIGHT} scene={scene} />
        <span className="story-seen small">
          {lacks ? <i>missing here</i> : <span>{delayWords(step)}</span>}
          <span className="dim">{seen}</span>
        </span>
      </div>
    </div>
  );
}

const whatWords = ({ step, from, to }: StoryStep): string =>
  step.kind === 'field' ? `from ${from.words} to ${to.words}` : turnWords(step);

const Told = ({ value }: { value: ValueTold }): ReactNode => (
  <span className={value.from === 'marked' ? 'inferred' : value.from === 'raw' ? 'mono' : ''}>{value.words}</span>
);
