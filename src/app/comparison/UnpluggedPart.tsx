/** For the panel of Senders: what the recording with a module unplugged says of each sender group. */
import type { ReactNode } from 'react';
import type { StreamKey } from '../../frames/table.ts';
import type { DossierCapture } from '../../jobs/dossier.ts';
import type { Comparison } from '../../proof/compare/types.ts';
import type { Survey } from '../../timing/types.ts';
import { useDossier } from '../stores/dossier.ts';
import { useView } from '../stores/view.ts';
import { duration } from '../../kit/sheet-figures.ts';
import { useComparisonOf, type AskedComparison } from './asking.ts';
import './comparison.css';
import { fatesOf, listIds, nextLook, partNamed } from './fates.ts';
import { Fates } from './Fates.tsx';
import { isUnplugged, useComparisonChoice } from './store.ts';
import { Waiting } from './Waiting.tsx';

export interface UnpluggedPartProps {
  /** Of the capture in view, letters and names settled. */
  readonly survey: Survey | null;
  readonly onHold?: (stream: StreamKey) => void;
}

export function UnpluggedPart({ survey, onHold }: UnpluggedPartProps): ReactNode {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const currentId = useView((view) => view.captureId);
  const second = captures.find(isUnplugged);
  const isItself = second !== undefined && second.id === currentId;
  const a = currentId ? { captureId: currentId, span: null } : null;
  const b = second ? { captureId: second.id, span: null } : null;
  const asked = useComparisonOf(a, b, survey !== null && !isItself);
  if (!survey) return null;
  return (
    <section className="panel-part unplugged">
      <h3>
        {second ? `With ${partNamed(second.role)} unplugged` : 'With a module unplugged'}
        {asked.b.profile && <small>{duration(asked.b.profile.durationS)} capture</small>}
      </h3>
      {!second && <Nothing />}
      {isItself && (
        <p className="small dim">
          This is that recording. Open the one before it was unplugged: it shows who falls silent here.
        </p>
      )}
      {second && !isItself && <Answer asked={asked} second={second} survey={survey} onHold={onHold} />}
    </section>
  );
}

function Nothing(): ReactNode {
  return (
    <p className="small dim">
      A second capture with the module unplugged would show what it sends, whatever its clock says, and who reacts to
      its absence. Record one as long as a key-on lasts, add it in Captures, and write “unplugged” into its role.
    </p>
  );
}

interface AnswerProps {
  readonly asked: AskedComparison;
  readonly second: DossierCapture;
  readonly survey: Survey;
  readonly onHold: ((stream: StreamKey) => void) | undefined;
}

function Answer({ asked, second, survey, onHold }: AnswerProps): ReactNode {
  const { comparison } = asked;
  if (!comparison) return <Waiting asked={asked} className="small dim" />;
  const received = survey.frames.filter(({ direction }) => direction === 'received');
  const fates = fatesOf(survey.groups, received, comparison.absent);
  const look = nextLook(comparison.absent.reacts, partNamed(second.role));
  return (
    <>
      {comparison.absent.sentBy.length === 0 && <p className="small">{comparison.absent.why}</p>}
      {comparison.absent.sentBy.length > 0 && <Fates fates={fates} onHold={onHold} />}
      <Copies comparison={comparison} />
      {look && <p className="inferred unplugged-next">{look}</p>}
      <p className="small">
        <button type="button" className="button plain small" onClick={() => openInCaptures(second)}>
          See both captures compared
        </button>
      </p>
    </>
  );
}

function openInCaptures(second: DossierCapture): void {
  const view = useView.getState();
  const choice = useComparisonChoice.getState();
  if (view.captureId) choice.choose('a', { captureId: view.captureId, span: null });
  choice.choose('b', { captureId: second.id, span: null });
  choice.show(true);
  view.go('captures');
}

function Copies({ comparison }: { comparison: Comparison }): ReactNode {
  const { copies } = comparison.absent;
  if (copies.length === 0) return null;
  return (
    <p className="small dim">
      {copies.length === 1 ? 'A copy by a gateway stops' : `${copies.length} copies by a gateway stop`} with it:{' '}
      <span className="mono">{listIds(copies)}</span> on {[...new Set(copies.map(({ bus }) => bus))].join(', ')}.
    </p>
  );
}
