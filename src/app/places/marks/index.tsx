/** Marks: what did we do, and when? */
import { useRulerMarks } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { MarksPanel } from './MarksPanel.tsx';
import { MarksControls, MarksPlace } from './MarksPlace.tsx';

function useLine(): string {
  const { marks, actions } = useRulerMarks();
  const recorded = useCurrentCapture()?.open.phase === 'ready';
  if (marks.length) return `${plural(marks.length, 'mark')}, ${plural(actions.length, 'action')}`;
  return recorded ? 'none yet: you can still look' : 'none yet';
}

export const place: PlaceDefinition = {
  name: 'marks',
  title: 'Marks',
  question: 'What did we do, and when?',
  showsTime: true,
  Place: MarksPlace,
  Panel: MarksPanel,
  Controls: MarksControls,
  useLine,
};
