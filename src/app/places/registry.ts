/** The places that exist, in the order of the job. A place that does nothing yet is not there. */
import type { PlaceDefinition, PlaceName } from './place.ts';

const ORDER: readonly PlaceName[] = ['captures', 'marks', 'payloads', 'signals', 'handover'];
const found = Object.values(import.meta.glob<{ place: PlaceDefinition }>('./*/index.tsx', { eager: true }));

export const PLACES: readonly PlaceDefinition[] = ORDER.flatMap(
  (name) => found.find(({ place }) => place.name === name)?.place ?? [],
);
