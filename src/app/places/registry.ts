/** The places that exist, in the order of the job. A place that does nothing yet is not there. */
import { place as captures } from './captures/index.tsx';
import { place as handover } from './handover/index.tsx';
import { place as marks } from './marks/index.tsx';
import { place as payloads } from './payloads/index.tsx';
import type { PlaceDefinition } from './place.ts';
import { place as proof } from './proof/index.tsx';
import { place as senders } from './senders/index.tsx';
import { place as signals } from './signals/index.tsx';

export const PLACES: readonly PlaceDefinition[] = [captures, marks, senders, payloads, signals, proof, handover];
