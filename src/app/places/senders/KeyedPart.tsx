/** Told as soon as it is known, while the modules are still in the vehicle: whose frames carry a tag that hangs on a secret, and must be kept with their key. */
import { useMemo, type ReactNode } from 'react';
import { keyedTagsOf, type TaggedFrame } from '../../../map/keyed-tags.ts';
import type { FrameFindings } from '../../../fields/types.ts';
import type { Survey } from '../../../timing/types.ts';
import { useFields } from '../../stores/asking.ts';

function taggedFrames(findings: readonly FrameFindings[], { frames, groups }: Survey): readonly TaggedFrame[] {
  const received = frames.filter(({ direction }) => direction === 'received');
  return findings.map(({ bus, id, extended, checksums }) => {
    const frame = received.find((one) => one.bus === bus && one.id === id && one.extended === extended);
    const group = groups.find((one) => one.group === frame?.group);
    const sender = group ? group.name || `sender ${group.group}` : null;
    return { bus, id, extended, checksums, sender };
  });
}

export function KeyedPart({ survey }: { survey: Survey }): ReactNode {
  const findings = useFields().value;
  const keyed = useMemo(
    () => (findings ? keyedTagsOf(taggedFrames(findings, survey), 'Keep') : null),
    [findings, survey],
  );
  if (!keyed) return null;
  return (
    <section className="panel-part">
      <h3>Cannot be produced</h3>
      <p className="small">{keyed.says}</p>
    </section>
  );
}
