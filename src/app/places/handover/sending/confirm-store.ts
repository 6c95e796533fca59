/** What waits for its phrase to be typed: put there by the form that shows the cautions, read by the keys that save. */
import { create } from 'zustand';
import { isConfirmed } from '../../../../handover/sending/cautions.ts';
import { say } from '../../../shell/notices.ts';

/** Writes the files for what was typed; says itself what was saved. */
export type SaveConfirmed = (typed: string) => Promise<void>;

interface ConfirmState {
  /** null: there is nothing to save yet. */
  readonly save: SaveConfirmed | null;
  /** Empty: nothing is sent by it, and nothing needs to be typed. */
  readonly phrase: string;
  readonly typed: string;
  readonly saving: boolean;
}

export const useConfirm = create<ConfirmState>(() => ({ save: null, phrase: '', typed: '', saving: false }));

/** @param phrase empty where nothing is sent */
export const mayBeSaved = (typed: string, phrase: string): boolean => phrase === '' || isConfirmed(typed, phrase);

export function goToPhrase(): void {
  const field = document.querySelector<HTMLElement>('.confirm-phrase-field');
  field?.focus();
  field?.scrollIntoView({ block: 'center' });
}

/** Saves what is shown, or brings the person to what is missing. */
export async function saveConfirmed(): Promise<void> {
  const { save, phrase, typed, saving } = useConfirm.getState();
  if (saving) return;
  if (!save) return say('There is nothing to save here yet: the page says what is missing.');
  if (!mayBeSaved(typed, phrase)) {
    goToPhrase();
    return say('Read the cautions, then type the phrase below them: this is for sending.');
  }
  useConfirm.setState({ saving: true });
  try {
    await save(typed);
    useConfirm.setState({ typed: '' });
  } catch (error) {
    say(`Nothing was saved: ${error instanceof Error ? error.message : String(error)}`);
  } finally {
    useConfirm.setState({ saving: false });
  }
}
