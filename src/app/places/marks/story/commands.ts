/** Hands on a story: holding a step, going to a repetition, and from a step to its payload. */
import { viewOf, type Story, type StoryStep } from '../../../pictures/story-model.ts';
import { useView } from '../../../stores/view.ts';
import { seeField, seeFrame } from '../../payloads/see-field.ts';
import { useMarksPlace } from '../store.ts';

/** The common ruler shows the repetition whole; the cursor stands at the held step in it, else where it was done. */
export function goToRepetition(story: Story, index: number): void {
  const repetition = story.repetitions[Math.min(story.n - 1, Math.max(0, index))];
  if (!repetition) return;
  const { step } = useMarksPlace.getState();
  useMarksPlace.getState().set({ repetition: repetition.index });
  const { setWindow, setCursor } = useView.getState();
  const { fromS, toS } = viewOf(repetition);
  setWindow(fromS, toS);
  setCursor(cursorIn(story, repetition.index, step) ?? repetition.atS);
}

function cursorIn({ steps }: Story, repetition: number, step: string | null): number | null {
  return steps.find(({ key }) => key === step)?.step.atS[repetition] ?? null;
}

export function holdStep(story: Story, step: StoryStep | null): void {
  const { repetition, set } = useMarksPlace.getState();
  set({ step: step?.key ?? null });
  const atS = repetition === null ? null : cursorIn(story, repetition, step?.key ?? null);
  if (atS !== null) useView.getState().setCursor(atS);
}

export const letGo = (): void => useMarksPlace.getState().set({ step: null, repetition: null });

export const openStep = ({ step }: StoryStep): void => (step.kind === 'field' ? seeField(step) : seeFrame(step));
