/** Which senders are the part itself: what they send the controller hears, and never sends. */
import type { ReactNode } from 'react';
import type { SignalMap } from '../../../map/schema.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { GroupTag } from '../../shell/GroupTag.tsx';
import { useDossier } from '../../stores/dossier.ts';

interface Sender {
  readonly group: string;
  /** Empty until someone gives one. */
  readonly name: string;
  readonly frames: number;
}

function sendersIn({ frames }: SignalMap): readonly Sender[] {
  const groups = new Map<string, Sender>();
  for (const { sender } of frames) {
    if (!sender) continue;
    const before = groups.get(sender.group);
    const name = sender.name === `sender ${sender.group}` ? '' : sender.name;
    groups.set(sender.group, { group: sender.group, name, frames: (before?.frames ?? 0) + 1 });
  }
  return [...groups.values()].sort((a, b) => (a.group < b.group ? -1 : 1));
}

function toggle(group: string): void {
  useDossier.getState().change(`say whether sender ${group} is the part`, (dossier) => {
    const { partSenders } = dossier;
    const isPart = partSenders.includes(group);
    const next = isPart ? partSenders.filter((other) => other !== group) : [...partSenders, group].sort();
    return { ...dossier, partSenders: next };
  });
}

export function PartSenders({ map }: { map: SignalMap }): ReactNode {
  const chosen = useDossier(({ dossier }) => dossier.partSenders);
  const senders = sendersIn(map);
  const none = !senders.some(({ group }) => chosen.includes(group));
  if (senders.length === 0) return null;
  return (
    <div className={`part-senders ${none ? 'asks' : ''}`}>
      <span id="part-senders">{none ? 'Which senders are the part?' : 'The part is'}</span>
      <span className="part-senders-list" role="group" aria-labelledby="part-senders">
        {senders.map(({ group, name, frames }) => (
          <button
            key={group}
            type="button"
            className="button"
            aria-pressed={chosen.includes(group)}
            title={plural(frames, 'frame')}
            onClick={() => toggle(group)}
          >
            <GroupTag group={group} /> {name || frames}
            <span className="unseen"> {name ? plural(frames, 'frame') : 'frames'}</span>
          </button>
        ))}
      </span>
      {none && (
        <span className="small inferred">Until this is said, what the part itself sends stands in the plan too.</span>
      )}
    </div>
  );
}
