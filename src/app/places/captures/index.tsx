/** Captures: what did we record? */
import { useCaptures } from '../../stores/captures.ts';
import { useDossier } from '../../stores/dossier.ts';
import { duration, plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { CapturesPanel } from './CapturesPanel.tsx';
import { CapturesControls, CapturesPlace } from './CapturesPlace.tsx';

function useLine(): string {
  const open = useCaptures((state) => state.open);
  const n = useDossier(({ dossier }) => dossier.captures.length);
  if (n === 0) return 'nothing open';
  const reading = open.findIndex(({ phase }) => phase === 'reading');
  if (reading >= 0) return n === 1 ? 'reading' : `reading ${reading + 1} of ${n}`;
  const wanting = open.filter(({ phase }) => phase === 'failed' || phase === 'missing').length;
  if (wanting) return `${plural(n, 'capture')}, ${wanting} not read`;
  return `${plural(n, 'capture')}, ${duration(open.reduce((sum, { summary }) => sum + (summary?.durationS ?? 0), 0))}`;
}

export const place: PlaceDefinition = {
  name: 'captures',
  title: 'Captures',
  question: 'What did we record?',
  showsTime: true,
  Place: CapturesPlace,
  Panel: CapturesPanel,
  Controls: CapturesControls,
  useLine,
};
