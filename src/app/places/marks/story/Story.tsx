/**
 * What follows an action, told step by step. It stands in Marks, not in Signals: who asks "what happens when the key turns" thinks of the
 * thing that was done, whose track and repetitions are right above; Signals starts from what is named, and here most is not named yet.
 */
import { useState, type KeyboardEvent, type ReactNode } from 'react';
import { AXIS_HEIGHT, axisScene, unitOf } from '../../../pictures/story-scene.ts';
import { numbersWords, type Repetition, type Story as StoryModel } from '../../../pictures/story-model.ts';
import { useCurrentCapture } from '../../../stores/finding.ts';
import { Picture } from '../../../surface/Picture.tsx';
import { clock, percent, plural } from '../../../../kit/sheet-figures.ts';
import { sentence } from '../../../words/sentence.ts';
import { useMarksPlace } from '../store.ts';
import { goToRepetition, holdStep, letGo, openStep } from './commands.ts';
import { StepRow } from './StepRow.tsx';
import { StoryTable } from './StoryTable.tsx';
import { useStory, type StoryTold } from './use-story.ts';
import './story.css';

const FIRST_STEPS = 12;

export function Story(): ReactNode {
  const told = useStory();
  const { story } = told;
  return (
    <section className="story" aria-label="What follows">
      <StoryHead told={told} />
      {story && <Repetitions story={story} />}
      {story && story.steps.length > 0 && <Steps key={story.name} story={story} />}
    </section>
  );
}

function StoryHead({ told }: { told: StoryTold }): ReactNode {
  const { story, all, finding } = told;
  const choose = (name: string): void => {
    letGo();
    useMarksPlace.getState().set({ story: name });
  };
  return (
    <div className="story-head row">
      <h3>
        What follows <small>step by step</small>
      </h3>
      <div>
        {story && (
          <select
            className="field"
            aria-label="Action that is told"
            value={story.name}
            onChange={(event) => choose(event.target.value)}
          >
            {all.map(({ name, n, steps }) => (
              <option key={name} value={name}>
                {name}: {plural(n, 'time')}, {steps.length ? plural(steps.length, 'step') : 'no step'}
              </option>
            ))}
          </select>
        )}
        <StoryState told={told} />
        {story?.words && <p className="small inferred dim">{sentence(story.words)}</p>}
        {finding.outdated && <p className="small inferred dim">From before your last change.</p>}
      </div>
    </div>
  );
}

function StoryState({ told }: { told: StoryTold }): ReactNode {
  const { finding, clockKnown, story } = told;
  const ready = useCurrentCapture()?.open.phase === 'ready';
  const { slot } = finding;
  if (slot?.state === 'running')
    return (
      <p className="small dim" role="status">
        {slot.note || 'reading states and flags'}, {percent(slot.share)}{' '}
        <button type="button" className="button plain small" onClick={slot.stop}>
          stop
        </button>
      </p>
    );
  if (slot?.state === 'failed' || slot?.state === 'stopped')
    return (
      <p className="small" role="alert">
        Not told: {slot.note || 'it was stopped'}.{' '}
        <button type="button" className="button plain small" onClick={finding.again}>
          Try again
        </button>
      </p>
    );
  if (story) return null;
  return (
    <p className="small dim inferred">
      {!ready
        ? 'Waits until the recording has been read.'
        : clockKnown
          ? 'Waits until the payloads have been looked at.'
          : 'The marks’ clock is not known yet, so nobody can say what follows them: see Whose clock.'}
    </p>
  );
}

function lacksWords(missing: readonly number[], steps: number): string {
  if (missing.length === 0) return 'all steps';
  if (missing.length === steps) return 'all steps missing';
  return `${missing.length === 1 ? 'step' : 'steps'} ${numbersWords(missing)} missing`;
}

function repetitionWords({ index, atS, missing }: Repetition, steps: number): string {
  const lacks = steps > 0 ? `, ${lacksWords(missing, steps)}` : '';
  return `repetition ${index + 1} ${atS < 0 ? 'before the recording began' : `at ${clock(atS, 1)}`}${lacks}`;
}

/** Each repetition one click away; one that lacks steps has an open foot. */
function Repetitions({ story }: { story: StoryModel }): ReactNode {
  const held = useMarksPlace((state) => state.repetition);
  const shown = held === null ? null : story.repetitions[held];
  return (
    <div className="row story-repetitions">
      <span className="tiny dimmer">
        repetitions <kbd>,</kbd> <kbd>.</kbd>
      </span>
      <div>
        <div className="line-of story-numbers" role="group" aria-label="Repetitions: go to one on the ruler">
          {story.repetitions.map((repetition) => (
            <button
              key={repetition.index}
              type="button"
              className={`story-number ${repetition.missing.length && story.steps.length ? 'lacks' : ''}`}
              aria-pressed={held === repetition.index}
              aria-label={repetitionWords(repetition, story.steps.length)}
              title={repetitionWords(repetition, story.steps.length)}
              onClick={() => goToRepetition(story, repetition.index)}
            >
              {repetition.index + 1}
            </button>
          ))}
        </div>
        <p className="tiny dim" aria-live="polite">
          {shown
            ? `${sentence(repetitionWords(shown, story.steps.length))} The ruler shows it.`
            : story.repetitions.some(({ missing }) => missing.length) && story.steps.length
              ? 'A dashed number lacks steps. Choose one to see it on the ruler.'
              : 'Choose one to see it on the ruler.'}
        </p>
      </div>
    </div>
  );
}

function Steps({ story }: { story: StoryModel }): ReactNode {
  const { step: heldStep, repetition } = useMarksPlace();
  const [all, setAll] = useState(false);
  const steps = all ? story.steps : story.steps.slice(0, FIRST_STEPS);
  const at = steps.findIndex(({ key }) => key === heldStep);
  const onKeyDown = (event: KeyboardEvent): void => {
    const held = steps[at];
    const moves: Record<string, () => void> = {
      ArrowDown: () => holdStep(story, steps[Math.min(steps.length - 1, at + 1)] ?? null),
      ArrowUp: () => holdStep(story, steps[Math.max(0, at - 1)] ?? null),
      Home: () => holdStep(story, steps[0] ?? null),
      End: () => holdStep(story, steps.at(-1) ?? null),
      ArrowLeft: () => goToRepetition(story, (repetition ?? story.n) - 1),
      ArrowRight: () => goToRepetition(story, (repetition ?? -1) + 1),
      Escape: letGo,
      ...(held ? { Enter: () => openStep(held) } : {}),
    };
    const move = moves[event.key];
    if (!move || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    event.stopPropagation();
    move();
  };
  return (
    <>
      <div className="row story-axis" aria-hidden="true">
        <span className="tiny dimmer">who, which field</span>
        <div className="story-cells tiny dimmer">
          <span>value</span>
          <div>
            <span className="story-axis-words">
              since the first step, {unitOf(story.spanS)} <i>(not the time ruler)</i>
            </span>
            <Picture label="" height={AXIS_HEIGHT} scene={axisScene(story.spanS)} />
          </div>
          <span className="story-seen">delay, seen</span>
        </div>
      </div>
      <div
        className="story-steps"
        role="listbox"
        tabIndex={0}
        aria-label={`Steps after ${story.name}: up and down hold a step, left and right go through repetitions, Enter opens its payload`}
        aria-activedescendant={at >= 0 ? `story-step-${at}` : undefined}
        onKeyDown={onKeyDown}
      >
        {steps.map((step, index) => (
          <StepRow
            key={step.key}
            id={`story-step-${index}`}
            story={story}
            step={step}
            above={story.steps[index - 1] ?? null}
            below={index + 1 < steps.length ? (story.steps[index + 1] ?? null) : null}
            held={index === at}
            repetition={repetition}
          />
        ))}
      </div>
      {story.steps.length > FIRST_STEPS && (
        <p className="past-gutter" style={{ marginTop: 8 }}>
          <button type="button" className="button" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? `Only the first ${FIRST_STEPS}` : `All ${story.steps.length} steps`}
          </button>
        </p>
      )}
      <StoryTable story={story} />
    </>
  );
}
