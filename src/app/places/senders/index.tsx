/** Senders: who is talking? */
import './senders.css';
import type { ReactNode } from 'react';
import { useSurvey } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { ModesRow } from '../../modes/ModesRow.tsx';
import { TimeSheet } from '../../shell/TimeSheet.tsx';
import { plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { NOT_READ } from '../payloads/Nothing.tsx';
import { useHeldStrand, useLoom, type HeldLoom } from './held.ts';
import { Legend } from './Legend.tsx';
import { LoomView } from './LoomView.tsx';
import { MoveDialog } from './MoveDialog.tsx';
import { Nothing } from './Nothing.tsx';
import { RenameDialog } from './RenameDialog.tsx';
import { SendersPanel } from './SendersPanel.tsx';
import { useSenders } from './store.ts';
import { canRename, openDialog, useSenderKeys } from './StrandHands.tsx';

function Place(): ReactNode {
  const held = useLoom();
  const current = useCurrentCapture();
  useSenderKeys(held);
  if (!current || NOT_READ[current.open.phase] || !held.loom || held.strands.length === 0)
    return <Nothing held={held} />;
  return (
    <div className="senders">
      {held.finding.outdated && <p className="small inferred senders-outdated">From before your last change.</p>}
      <LoomView held={held} />
      <div className="senders-foot">
        <Legend loom={held.loom} />
        <TimeSheet>
          <ModesRow />
        </TimeSheet>
      </div>
      <Dialogs held={held} />
    </div>
  );
}

function Dialogs({ held }: { held: HeldLoom }): ReactNode {
  const dialog = useSenders((state) => state.dialog);
  const strand = useHeldStrand(held);
  const close = (): void => useSenders.getState().set({ dialog: null });
  if (!dialog || !strand || !held.survey) return null;
  if (dialog === 'move') return <MoveDialog strand={strand} survey={held.survey} onClose={close} />;
  if (!strand.group) return null;
  const name = held.survey.groups.find(({ group }) => group === strand.group)?.name ?? '';
  return <RenameDialog group={strand.group} name={name} onClose={close} />;
}

function Controls(): ReactNode {
  const held = useLoom();
  const strand = useHeldStrand(held);
  const shows = useSenders((state) => state.shows);
  if (!held.loom) return null;
  return (
    <>
      <span className="legend small dim senders-head">
        A trunk is a bus, a branch a sender, a strand an identifier: the wider, the more often it is sent.
      </span>
      {held.moves > 0 && (
        <span className="switch" role="group" aria-label="Senders as">
          {(['timing', 'hand'] as const).map((choice) => (
            <button
              key={choice}
              type="button"
              aria-pressed={shows === choice}
              onClick={() => useSenders.getState().set({ shows: choice })}
            >
              {choice === 'timing' ? 'by timing' : 'by hand'}
            </button>
          ))}
        </span>
      )}
      <button
        type="button"
        className="button senders-rename"
        disabled={!canRename(strand)}
        onClick={() => openDialog('rename')}
      >
        Rename group <kbd>R</kbd>
      </button>
    </>
  );
}

function useLine(): string {
  const survey = useSurvey();
  const current = useCurrentCapture();
  if (!current) return 'no capture yet';
  if (current.open.phase === 'reading') return 'open as soon as read';
  if (!survey.value) return current.open.phase === 'ready' ? 'reading the clocks' : 'nothing read';
  const received = survey.value.frames.filter(({ direction }) => direction === 'received').length;
  const senders = survey.value.groups.length;
  return `${plural(received, 'identifier')}, ${senders ? plural(senders, 'sender') : 'no sender told'}`;
}

export const place: PlaceDefinition = {
  name: 'senders',
  title: 'Senders',
  question: 'Who is talking?',
  showsTime: true,
  Place,
  Panel: SendersPanel,
  Controls,
  useLine,
};
