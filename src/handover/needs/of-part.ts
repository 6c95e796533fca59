/** Whose frames are the part's own: a person says which senders it is. */
import type { MapFrame, SignalMap } from '../../map/schema.ts';

/** @param senders letters or names of sender groups; their frames become the part's, all others keep their role. */
export function ofPart(map: SignalMap, senders: readonly string[]): SignalMap {
  const isOwn = ({ sender }: MapFrame): boolean =>
    sender !== null && (senders.includes(sender.group) || (sender.name !== '' && senders.includes(sender.name)));
  return { ...map, frames: map.frames.map((frame) => (isOwn(frame) ? { ...frame, role: 'sent-by-part' } : frame)) };
}
