/** "What is still weak?" with its keys. */
import { useMemo, type ReactNode } from 'react';
import type { NextRecording } from '../../../proof/suffices/types.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { say } from '../../shell/notices.ts';
import { DONORS, sayDonor, useDonor, useSufficiency } from './asking.ts';
import { openCard, saveCard } from './cards.ts';
import { step } from './held.ts';
import { momentsOf } from './needs.ts';
import { toggleMet } from './NeedSection.tsx';
import { nextQuestion } from './questions.ts';
import { useProof } from './store.ts';
import { rowsIn, WeakPlace } from './WeakPlace.tsx';

export function Weak(): ReactNode {
  const finding = useSufficiency();
  const { value } = finding;
  const donor = useDonor();
  const group = useMemo<KeyGroup>(() => {
    const withRecording = (run: (one: NextRecording) => void): void => {
      const one = value?.next[useProof.getState().recording] ?? value?.next[0];
      if (one) run(one);
      else say('There is no recording to make next.');
    };
    const go = (direction: 1 | -1): void => {
      const { need } = useProof.getState();
      const row = value && rowsIn(value).find(({ key }) => key === need);
      if (!row) say('Choose a need first: J and K go through its moments.');
      else if (!step(momentsOf(row), direction)) say('This need has no moments.');
    };
    const next = (): void => {
      const at = DONORS.findIndex(({ can }) => can === donor);
      sayDonor(DONORS[(at + 1) % DONORS.length]?.can ?? 'drive');
    };
    return {
      title: 'Proof: what is still weak?',
      bindings: [
        { key: 'c', says: 'make the recording the run card', run: () => withRecording(openCard) },
        { key: 's', says: 'save its run card', run: () => withRecording(saveCard) },
        { key: 'd', says: 'what the donor can still do', run: next },
        { key: 'j', says: 'the next moment', run: () => go(1) },
        { key: 'k', says: 'the moment before', run: () => go(-1) },
        { key: 'e', says: 'show or fold what is enough', run: toggleMet },
        {
          key: 'l',
          says: 'go to the list',
          run: () => document.querySelector<HTMLElement>('.proof-need[tabindex="0"]')?.focus(),
        },
        { key: 'w', says: 'the next question', run: nextQuestion },
      ],
    };
  }, [value, donor]);
  useKeys(group);
  return <WeakPlace finding={finding} />;
}
