/** The panel of Senders: the figures of the strand that is held, why it is where it is, and the clocks behind the grouping. */
import type { ReactNode } from 'react';
import { useCurrentCapture } from '../../stores/finding.ts';
import { disagreements } from '../../../timing/senders/settle-senders.ts';
import { GroupTag } from '../../shell/GroupTag.tsx';
import { plural } from '../../../kit/sheet-figures.ts';
import type { Strand } from '../../../timing/loom/model.ts';
import { NOT_READ } from '../payloads/Nothing.tsx';
import { UnpluggedPart } from '../../comparison/UnpluggedPart.tsx';
import { DriftPart } from './DriftPart.tsx';
import { KeyedPart } from './KeyedPart.tsx';
import { holdStrand, useLoom, type HeldLoom } from './held.ts';
import { StrandFacts } from './StrandFacts.tsx';
import { StrandHands } from './StrandHands.tsx';
import { skewWords } from './strand-words.ts';
import { StrandReasons } from './StrandReasons.tsx';

export function SendersPanel(): ReactNode {
  const held = useLoom();
  const current = useCurrentCapture();
  const { survey, strand } = held;
  if (!current || NOT_READ[current.open.phase] || !survey || !held.loom) return null;
  return (
    <div className="senders-panel">
      {strand ? <StrandPart strand={strand} held={held} /> : <Overall held={held} />}
      <KeyedPart survey={survey} />
      <DriftPart held={held} />
      <UnpluggedPart survey={survey} onHold={holdStrand} />
      <ByHand held={held} />
      <Loose held={held} />
      <section className="panel-part">
        <h3>What the stamps carry</h3>
        <p className="small dim">{survey.capture.clock.verdict}</p>
      </section>
    </div>
  );
}

function StrandPart({ strand, held }: { strand: Strand; held: HeldLoom }): ReactNode {
  const group = held.survey?.groups.find((one) => one.group === strand.group);
  return (
    <section className="panel-part">
      <h3 className="senders-held">
        <span className="mono">{strand.shownId}</span>{' '}
        <span className={strand.named ? '' : 'inferred'}>{strand.name}</span>
      </h3>
      <p className="senders-of">
        {strand.group ? (
          <>
            <GroupTag group={strand.group} />{' '}
            <span className={group?.name ? '' : 'inferred'}>{group?.name ?? `sender ${strand.group}`}</span>
            <span className="dim small"> on {strand.stream.bus}</span>
          </>
        ) : (
          <span className="dim">
            {strand.frame.direction === 'sent'
              ? 'sent by the logger'
              : strand.frame.copyOf && !strand.frame.byHand
                ? `copied from ${strand.frame.copyOf.bus} by a gateway`
                : 'unknown sender'}{' '}
            <span className="small">on {strand.stream.bus}</span>
          </span>
        )}
      </p>
      <StrandFacts strand={strand} held={held} />
      <StrandHands held={held} />
      <StrandReasons strand={strand} />
    </section>
  );
}

function Overall({ held }: { held: HeldLoom }): ReactNode {
  const { loom, survey } = held;
  if (!loom || !survey) return null;
  return (
    <section className="panel-part">
      <h3>
        {plural(loom.identifiers, 'identifier')}, {plural(loom.senders, 'sender')}
      </h3>
      <p className="small dim">
        Identifiers that keep one clock over the same minutes are bound together: one module sends them. Hold a strand
        for its figures; with the keyboard, arrows walk along them.
      </p>
      {survey.groups.length > 0 && (
        <table className="list senders-table">
          <thead>
            <tr>
              <th>sender</th>
              <th>name</th>
              <th className="right">identifiers</th>
              <th className="right">skew</th>
              <th className="right">sure of</th>
            </tr>
          </thead>
          <tbody>
            {survey.groups.map(({ group, name, members, skewPpm }) => (
              <tr key={group}>
                <td>
                  <GroupTag group={group} />
                </td>
                <td className={name ? '' : 'inferred'}>{name ?? `sender ${group}`}</td>
                <td className="right">{members.length}</td>
                <td className="right">{skewWords(skewPpm)}</td>
                <td className="right">
                  {members.filter(({ confidence }) => confidence >= SURE).length} of {members.length}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}

/** Where a person's word and timing differ: both are said, and neither is overruled by the other. */
function ByHand({ held }: { held: HeldLoom }): ReactNode {
  const differ = held.survey ? disagreements(held.survey) : [];
  if (differ.length === 0) return null;
  return (
    <section className="panel-part">
      <h3>Timing says otherwise</h3>
      <ul className="senders-list">
        {differ.map(({ key, id, hand, timing }) => (
          <li key={key} className="small">
            <span className="mono">{id}</span>: by hand {hand ? <GroupTag group={hand} /> : 'no sender'}, by timing{' '}
            <GroupTag group={timing} />
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Why some hang loose, each reason once with how many it concerns. */
function Loose({ held }: { held: HeldLoom }): ReactNode {
  const loose = held.strands.filter(
    ({ group, frame }) => group === null && frame.direction === 'received' && !frame.copyOf,
  );
  if (loose.length === 0) return null;
  const reasons = new Map<string, string[]>();
  for (const { frame, shownId } of loose) {
    const why = frame.groupWhy.split(';')[0] as string;
    reasons.set(why, [...(reasons.get(why) ?? []), shownId]);
  }
  return (
    <section className="panel-part">
      <h3>{plural(loose.length, 'identifier')} without a sender</h3>
      <ul className="senders-list">
        {[...reasons].map(([why, ids]) => (
          <li key={why}>
            <p className="small dim">
              {why}: <span className="mono">{ids.slice(0, SHOWN).join(', ')}</span>
              {ids.length > SHOWN ? ` and ${ids.length - SHOWN} more` : ''}
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}
const SHOWN = 6;
/** "Sure of" counts those whose place is right with nine in ten. */
const SURE = 0.9;
