/** "Does it hold?" with its keys. */
import { useEffect, useMemo, type ReactNode } from 'react';
import type { DossierCapture } from '../../../jobs/dossier.ts';
import type { ProofReport } from '../../../proof/hold/types.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { say } from '../../shell/notices.ts';
import { useView } from '../../stores/view.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { hold, nextFilter, openMap, seeInPayloads } from './actions.ts';
import { useAgainst } from './asking.ts';
import { step, useShown } from './held.ts';
import { HoldsPlace } from './HoldsPlace.tsx';
import { MapOfOpen } from './MapOfOpen.tsx';
import { allItems, countsOf } from './rows.ts';
import { nextQuestion } from './questions.ts';
import { useProof } from './store.ts';
import { saveProven, takeable, takeIntoDossier } from './take.ts';

const proofWords = (counts: ReturnType<typeof countsOf>): string =>
  `${plural(counts.holds, 'holds', 'hold')}, ${plural(counts.fails, 'fails', 'fail')}`;
export function Holds(): ReactNode {
  const shown = useShown();
  const against = useAgainst();
  const { moments, map, report } = shown;
  const slot = shown.finding.slot;
  const outdated = shown.finding.outdated;
  const group = useMemo<KeyGroup>(() => {
    const take = (): void => {
      const { opened } = useProof.getState();
      if (!map || !report || !against || outdated) return;
      if (opened) return saveProven(opened, report, against);
      const proof = takeable(map, report, against);
      if (proof) takeIntoDossier(proof);
    };
    const stop = (): void => {
      if (slot?.state === 'running') slot.stop();
      else if (!report) hold(null);
    };
    const go = (direction: 1 | -1): void => {
      if (step(moments, direction) || !report) return;
      say(
        useProof.getState().frame
          ? 'What is held has no moment to go to: choose something that fails.'
          : 'Nothing that is listed fails: there is no moment to go to.',
      );
    };
    return {
      title: 'Proof: does it hold?',
      bindings: [
        { key: 'h', says: 'hold the map against…', run: () => useProof.getState().set({ choosing: true }) },
        { key: 'o', says: 'open a map file', run: () => void openMap() },
        { key: 'x', says: 'stop', run: stop },
        { key: 'f', says: 'all, only what fails, only what is not exercised', run: nextFilter },
        { key: 'j', says: 'the next moment', run: () => go(1) },
        { key: 'k', says: 'the moment before', run: () => go(-1) },
        { key: 't', says: 'take what is proven', run: take },
        { key: 'p', says: 'see it in Payloads', run: seeInPayloads },
        {
          key: 'l',
          says: 'go to the list',
          run: () => document.querySelector<HTMLElement>('.proof-label[tabindex="0"]')?.focus(),
        },
        { key: 'w', says: 'the next question', run: nextQuestion },
      ],
    };
  }, [moments, map, report, against, slot, outdated]);
  useKeys(group);
  useEffect(() => {
    useProof.getState().set({ told: report && proofWords(countsOf(allItems(report))) });
  }, [report]);
  useNotedReport(outdated ? null : report, against);
  return (
    <>
      <MapOfOpen />
      <HoldsPlace shown={shown} />
    </>
  );
}

/** Keeps what a capture said of the map of the open one, for its report; a map from a file has a report of its own. */
function useNotedReport(report: ProofReport | null, against: DossierCapture | null): void {
  const isOfOpen = useProof((state) => state.opened === null);
  const madeFrom = useView(({ captureId }) => captureId);
  const [id, title] = [against?.id, against?.title];
  useEffect(() => {
    if (!report || !isOfOpen || !madeFrom || id === undefined || title === undefined) return;
    const { held, set } = useProof.getState();
    set({ held: { ...held, [`${madeFrom} ${id}`]: { madeFrom, title, report } } });
  }, [report, isOfOpen, madeFrom, id, title]);
}
