/** "Do we agree?": another person's map beside this one; what contradicts stands side by side, each with a choice. */
import { useMemo, type KeyboardEvent, type ReactNode } from 'react';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { movedTo } from '../../shell/list-keys.ts';
import { say } from '../../shell/notices.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { openOther } from './actions.ts';
import { choose, saveMerged, takeAgreed, useAgreeing, type Agreeing } from './agreeing.ts';
import { conflictGroups, type Choice, type ConflictGroup } from './agree.ts';
import { ConflictRow, conflictId } from './ConflictRow.tsx';
import { MapOfOpen } from './MapOfOpen.tsx';
import { toggleMet } from './NeedSection.tsx';
import { nextQuestion } from './questions.ts';
import { useProof } from './store.ts';

export function Agree(): ReactNode {
  const agreeing = useAgreeing();
  useAgreeKeys(agreeing);
  return (
    <>
      <MapOfOpen />
      {agreeing ? <Conflicts agreeing={agreeing} /> : <NotYet />}
    </>
  );
}

function useAgreeKeys(agreeing: Agreeing | null): void {
  const group = useMemo<KeyGroup>(() => {
    const chooses = (choice: Choice): void => {
      const { conflict: key } = useProof.getState();
      const conflicts = agreeing?.conflicts ?? [];
      const first = conflictGroups(conflicts)[0]?.conflicts[0];
      const conflict = conflicts.find((one) => one.key === key) ?? first;
      if (conflict) choose(conflict, choice);
      else say('There is no conflict to decide.');
    };
    const withBoth = (run: (both: Agreeing) => void): void => {
      if (agreeing) run(agreeing);
    };
    return {
      title: 'Proof: do we agree?',
      bindings: [
        { key: 'o', says: 'open another person’s map', run: () => void openOther() },
        { key: 'm', says: 'mine', run: () => chooses('first') },
        { key: 't', says: 'theirs', run: () => chooses('second') },
        { key: 'd', says: 'keep both, disputed', run: () => chooses('open') },
        {
          key: 'u',
          says: 'take it into the dossier',
          run: () => withBoth((both) => takeAgreed(both, useProof.getState().other?.name ?? 'the other map')),
        },
        { key: 's', says: 'save the merged map', run: () => withBoth(saveMerged) },
        { key: 'e', says: 'show or fold what the recordings show', run: toggleMet },
        {
          key: 'l',
          says: 'go to the list',
          run: () => document.querySelector<HTMLElement>('.proof-conflict[tabindex="0"]')?.focus(),
        },
        { key: 'w', says: 'the next question', run: nextQuestion },
      ],
    };
  }, [agreeing]);
  useKeys(group);
}

function NotYet(): ReactNode {
  const current = useCurrentCapture();
  const other = useProof((state) => state.other);
  const waits = useProof(({ made }) => made.waits);
  const words = !current
    ? 'No recording is open: there is no map of yours to lay another beside.'
    : other
      ? `${other.name} is laid beside your map once that is whole${waits ? `: ${waits}` : ''}.`
      : 'Open another person’s map of the same part. Where both agree, what each knows is taken together; where they contradict each other, the two versions stand side by side for you to choose. Nothing is dropped.';
  return (
    <div className="past-gutter need proof-unchosen">
      <p role="status">{words}</p>
      {current ? (
        !other && (
          <button type="button" className="button" onClick={() => void openOther()}>
            Open their map <kbd>O</kbd>
          </button>
        )
      ) : (
        <GoToCaptures />
      )}
    </div>
  );
}

const GROUP_WORDS: Readonly<Record<ConflictGroup, string>> = {
  open: 'left open',
  decided: 'decided by a hand or by standing',
  recorded: 'of what the recordings show',
};

function Conflicts({ agreeing }: { agreeing: Agreeing }): ReactNode {
  const groups = useMemo(() => conflictGroups(agreeing.conflicts), [agreeing.conflicts]);
  const all = useProof((state) => state.met);
  const listed = useMemo(
    () => groups.flatMap(({ group, conflicts }) => (group === 'recorded' && !all ? [] : conflicts)),
    [groups, all],
  );
  const heldKey = useProof((state) => state.conflict);
  const held = listed.find(({ key }) => key === heldKey) ?? null;
  const onKeyDown = (event: KeyboardEvent): void => {
    const to = movedTo(event.key, held ? listed.indexOf(held) : -1, listed.length);
    const next = to === null ? undefined : listed[to];
    if (!next) return;
    event.preventDefault();
    useProof.getState().set({ conflict: next.key });
    document.getElementById(conflictId(next.key))?.focus();
  };
  if (groups.length === 0)
    return <p className="past-gutter proof-says">Nothing contradicts: what either knows is taken together.</p>;
  return (
    <>
      <div className="proof-sides" aria-hidden="true">
        <span />
        <b>mine</b>
        <b>theirs</b>
      </div>
      <div onKeyDown={onKeyDown}>
        {groups.map(({ group, conflicts }) => (
          <section key={group} aria-label={GROUP_WORDS[group]}>
            <h3 className="proof-group">
              {GROUP_WORDS[group]} <small>{conflicts.length}</small>
              {group === 'recorded' && (
                <button type="button" className="button plain" aria-expanded={all} onClick={toggleMet}>
                  {all ? 'Fold them' : 'Show them'} <kbd>E</kbd>
                </button>
              )}
            </h3>
            {(group !== 'recorded' || all) && (
              <ul className="proof-conflicts">
                {conflicts.map((conflict) => (
                  <ConflictRow
                    key={conflict.key}
                    conflict={conflict}
                    held={conflict === held}
                    reachable={held ? conflict === held : conflict === listed[0]}
                  />
                ))}
              </ul>
            )}
          </section>
        ))}
      </div>
    </>
  );
}
