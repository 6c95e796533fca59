/** Proof: can we trust it? Three questions: does it hold on another recording, what is still weak in the open one, and do two people’s maps agree. */
import './proof.css';
import type { ReactNode } from 'react';
import { useDossier } from '../../stores/dossier.ts';
import { useFindings } from '../../stores/findings.ts';
import { lookedAtInProof, useView } from '../../stores/view.ts';
import type { PlaceDefinition } from '../place.ts';
import { usePhone } from '../payloads/layout.ts';
import { Agree } from './Agree.tsx';
import { AgreePanel } from './AgreePanel.tsx';
import { useSufficiency } from './asking.ts';
import { ChooseDialog } from './Choices.tsx';
import { Controls, QuestionSwitch } from './Controls.tsx';
import { useShown } from './held.ts';
import { Holds } from './Holds.tsx';
import { HoldsPanel } from './HoldsPanel.tsx';
import { useProof } from './store.ts';
import { Weak } from './Weak.tsx';
import { WeakPanel } from './WeakPanel.tsx';

function Place(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  const phone = usePhone();
  const choosing = useProof((state) => state.choosing);
  return (
    <div className="proof">
      {phone && <QuestionSwitch />}
      {asks === 'holds' && <Holds />}
      {asks === 'weak' && <Weak />}
      {asks === 'agree' && <Agree />}
      {choosing && <ChooseDialog />}
    </div>
  );
}

function Panel(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  if (asks === 'agree') return <AgreePanel />;
  return asks === 'holds' ? <PanelOfHolds /> : <PanelOfWeak />;
}
const PanelOfHolds = (): ReactNode => <HoldsPanel shown={useShown()} />;
const PanelOfWeak = (): ReactNode => <WeakPanel finding={useSufficiency()} />;

/** Without asking for anything: the rail stands in every place. */
function useLine(): string {
  const captures = useDossier(({ dossier }) => dossier.captures.length);
  const told = useProof((state) => state.told);
  const running = useFindings(({ slots }) =>
    Object.values(slots).some(({ key, state }) => state === 'running' && key.includes('/prove.')),
  );
  if (running) return 'holding the map against it';
  if (told) return told;
  if (captures === 0) return 'nothing to hold yet';
  return captures === 1 ? 'needs a second capture' : 'not held yet';
}

export const place: PlaceDefinition = {
  name: 'proof',
  title: 'Proof',
  question: 'Can we trust it?',
  showsTime: true,
  looksAt: lookedAtInProof,
  Place,
  Panel,
  Controls,
  useLine,
};
