/** Proof: can we trust it? Two questions: does it hold on another recording, and what is still weak in the open one. */
import './proof.css';
import { useEffect, useMemo, type ReactNode } from 'react';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { say } from '../../shell/notices.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useFindings } from '../../stores/findings.ts';
import { useView, type ProofQuestion } from '../../stores/view.ts';
import { plural } from '../../words/format.ts';
import type { PlaceDefinition } from '../place.ts';
import { hold, nextFilter, openMap, seeInPayloads } from './actions.ts';
import { DONORS, sayDonor, useAgainst, useChoices, useDonor, useSufficiency } from './asking.ts';
import { usePhone } from '../payloads/layout.ts';
import { DonorField } from './DonorField.tsx';
import { openCard, saveCard } from './cards.ts';
import { ChooseDialog } from './Choices.tsx';
import { step, useShown } from './held.ts';
import { HoldsPanel } from './HoldsPanel.tsx';
import { HoldsPlace } from './HoldsPlace.tsx';
import { MapOfOpen } from './MapOfOpen.tsx';
import { allItems, countsOf, type Filter } from './rows.ts';
import { useProof } from './store.ts';
import { saveProven, takeable, takeIntoDossier } from './take.ts';
import { rowsIn, toggleMet, WeakPlace } from './WeakPlace.tsx';
import { WeakPanel } from './WeakPanel.tsx';

function Place(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  const choosing = useProof((state) => state.choosing);
  return (
    <div className="proof">
      {asks === 'holds' ? <Holds /> : <Weak />}
      {choosing && <ChooseDialog />}
    </div>
  );
}

function Holds(): ReactNode {
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
      if (!step(moments, direction) && report) say('Nothing that is held has a moment to go to.');
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
        { key: 'w', says: 'what is still weak', run: () => useView.getState().askProof('weak') },
      ],
    };
  }, [moments, map, report, against, slot, outdated]);
  useKeys(group);
  useEffect(() => {
    useProof.getState().set({ told: report && proofWords(countsOf(allItems(report))) });
  }, [report]);
  return (
    <>
      <MapOfOpen />
      <HoldsPlace shown={shown} />
    </>
  );
}

function Weak(): ReactNode {
  const finding = useSufficiency();
  const { value } = finding;
  const donor = useDonor();
  const group = useMemo<KeyGroup>(() => {
    const recording = (): NonNullable<typeof value>['next'][number] | undefined => {
      const { recording: at } = useProof.getState();
      return value?.next[at] ?? value?.next[0];
    };
    const withRecording = (run: (one: NonNullable<ReturnType<typeof recording>>) => void): void => {
      const one = recording();
      if (one) run(one);
      else say('There is no recording to make next.');
    };
    const moments = (): readonly number[] => {
      const { need } = useProof.getState();
      const row = value && rowsIn(value).find(({ key }) => key === need);
      return row ? row.needs.flatMap((one) => one.moments ?? []) : [];
    };
    const go = (direction: 1 | -1): void => {
      if (!step(moments(), direction)) say('The need that is held has no moments.');
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
        { key: 'w', says: 'does it hold', run: () => useView.getState().askProof('holds') },
      ],
    };
  }, [value, donor]);
  useKeys(group);
  return <WeakPlace finding={finding} />;
}

function Panel(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  return asks === 'holds' ? <PanelOfHolds /> : <PanelOfWeak />;
}
const PanelOfHolds = (): ReactNode => <HoldsPanel shown={useShown()} />;
const PanelOfWeak = (): ReactNode => <WeakPanel finding={useSufficiency()} />;

const QUESTIONS: readonly { readonly asks: ProofQuestion; readonly words: string }[] = [
  { asks: 'holds', words: 'Does it hold?' },
  { asks: 'weak', words: 'What is weak?' },
];

/** What the key does next. */
const NEXT_FILTER_WORDS: Readonly<Record<Filter, string>> = {
  all: 'Only what fails',
  fails: 'Only not exercised',
  'not-exercised': 'All of it',
  holds: 'All of it',
};

function Controls(): ReactNode {
  const asks = useView((view) => view.proofAsks);
  const phone = usePhone();
  const chosen = useView((view) => view.against !== null);
  const some = useChoices().length > 0;
  const filter = useProof((state) => state.filter);
  return (
    <>
      {asks === 'holds' && some && (
        <button
          type="button"
          className="button proof-filter"
          onClick={() => useProof.getState().set({ choosing: true })}
        >
          Hold against… <kbd>H</kbd>
        </button>
      )}
      {asks === 'holds' && chosen && (
        <button type="button" className="button proof-filter" onClick={nextFilter}>
          {NEXT_FILTER_WORDS[filter]} <kbd>F</kbd>
        </button>
      )}
      {asks === 'weak' && !phone && <DonorField />}
      <span className="switch proof-asks" role="group" aria-label="Question">
        {QUESTIONS.map((question) => (
          <button
            key={question.asks}
            type="button"
            aria-pressed={asks === question.asks}
            onClick={() => useView.getState().askProof(question.asks)}
          >
            {question.words}
            {asks !== question.asks && (
              <>
                {' '}
                <kbd>W</kbd>
              </>
            )}
          </button>
        ))}
      </span>
    </>
  );
}

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

const proofWords = (counts: ReturnType<typeof countsOf>): string =>
  `${plural(counts.holds, 'holds', 'hold')}, ${plural(counts.fails, 'fails', 'fail')}`;

export const place: PlaceDefinition = {
  name: 'proof',
  title: 'Proof',
  question: 'Can we trust it?',
  showsTime: true,
  looksAt: ({ proofAsks, against }) => (proofAsks === 'holds' ? against : null),
  Place,
  Panel,
  Controls,
  useLine,
};
