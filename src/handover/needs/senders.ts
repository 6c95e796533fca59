/** Who sends which frame, as the map says: what the job `needs` counts phases by. */
import type { SignalMap } from '../../map/schema.ts';
import type { KnownSender } from './observe/types.ts';

export const sendersOf = ({ frames }: Pick<SignalMap, 'frames'>): KnownSender[] =>
  frames.flatMap(({ bus, id, extended, sender }) => (sender ? [{ bus, id, extended, group: sender.group }] : []));
