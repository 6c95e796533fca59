/** A proposed recording as the run card of Marks, or as a file that a phone in the vehicle opens. */
import { emptyDossier, type Dossier } from '../../../jobs/dossier.ts';
import type { NextRecording } from '../../../proof/suffices/types.ts';
import { fileStem, saveAs } from '../../shell/files.ts';
import { say } from '../../shell/notices.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { withPlan } from '../marks/run/plan.ts';
import { useMarksPlace } from '../marks/store.ts';

/** The dossier with the card in place of the one before; tracks for the actions that it marks. */
export function withCard(dossier: Dossier, { card }: Pick<NextRecording, 'card'>): Dossier {
  const named = card.flatMap(({ action }) => (action ? [action] : []));
  return withPlan({ ...dossier, actions: [...new Set([...dossier.actions, ...named])] }, card);
}

export function openCard(recording: NextRecording): void {
  useDossier.getState().change(`run card “${recording.title}”`, (dossier) => withCard(dossier, recording));
  useMarksPlace.getState().setRunCard('plan');
  useView.getState().go('marks');
}

/** A dossier with nothing but the card in it: no capture of this one leaves the machine with it. */
export function saveCard(recording: NextRecording): void {
  const { part } = useDossier.getState().dossier;
  const blank = emptyDossier();
  const own = { ...blank, part: { ...blank.part, title: part.title || recording.title, donor: part.donor } };
  const name = `${fileStem(recording.title, 'next-recording')}.run-card.json`;
  saveAs(name, JSON.stringify(withCard(own, recording), null, 1), 'application/json');
  say(`${name} saved: open it in the workbench on the phone that goes into the vehicle.`);
}
