/** Captures: what did we record? */
import type { PlaceDefinition } from '../place.ts';

export const place: PlaceDefinition = {
  name: 'captures',
  title: 'Captures',
  question: 'What did we record?',
  showsTime: true,
  Place: () => <p className="past-gutter">Drop a recording anywhere on this window.</p>,
  useLine: () => 'nothing open',
};
