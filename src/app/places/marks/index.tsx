/** Marks: what did we do, and when? */
import type { PlaceDefinition } from '../place.ts';

export const place: PlaceDefinition = {
  name: 'marks',
  title: 'Marks',
  question: 'What did we do, and when?',
  showsTime: true,
  Place: () => <p className="past-gutter">No marks yet.</p>,
  useLine: () => 'none yet: not needed to look',
};
