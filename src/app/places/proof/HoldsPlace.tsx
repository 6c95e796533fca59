/** "Does it hold?": the verdicts, or what is still needed before there are any. */
import type { ReactNode } from 'react';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { percent } from '../../../kit/sheet-figures.ts';
import { usePhone } from '../payloads/layout.ts';
import { hold } from './actions.ts';
import { useAgainst, useChoices, useHeldMap } from './asking.ts';
import { Choices, WhichMap } from './Choices.tsx';
import type { Shown } from './held.ts';
import { useProof } from './store.ts';
import { Tally } from './Tally.tsx';
import { Verdicts } from './Verdicts.tsx';

export function HoldsPlace({ shown }: { shown: Shown }): ReactNode {
  const against = useAgainst();
  const phone = usePhone();
  if (!against) return <Unchosen />;
  if (!shown.report) return <Underway shown={shown} title={against.title} />;
  return (
    <>
      <p className="past-gutter proof-against">
        <span className="dim">held against</span> <b>{against.title}</b>{' '}
        <span className="dim">
          {against.role && against.role !== against.title ? `${against.role}, ` : ''}a capture that the map was not made
          from
        </span>
        {phone && (
          <button type="button" className="button plain" onClick={() => useProof.getState().set({ choosing: true })}>
            Hold against another
          </button>
        )}
        {shown.finding.outdated && (
          <span className="inferred" role="status">
            {' '}
            from before your last change
          </span>
        )}
      </p>
      {phone && <Tally shown={shown} against={against} />}
      <Verdicts shown={shown} />
    </>
  );
}

/** Nothing is chosen: what there is to choose, or what is missing. */
function Unchosen(): ReactNode {
  const choices = useChoices();
  const map = useHeldMap();
  const waits = useProof((state) => state.made.waits);
  const some = choices.some(({ refused }) => refused === null);
  const later = !some && choices.some(({ isComing }) => isComing);
  return (
    <div className="past-gutter need proof-unchosen">
      {choices.length === 0 ? (
        <>
          <p>No recording is open: there is neither a map nor anything to hold it against.</p>
          <GoToCaptures />
        </>
      ) : (
        <>
          <p>
            {some
              ? 'A map proves itself on a recording that it was not made from. Hold it against:'
              : later
                ? 'A map proves itself on a recording that it was not made from. It can be held against the others once they are read.'
                : 'A map proves itself on a recording that it was not made from: another power cycle, another drive, a session on the bench. There is none yet.'}
          </p>
          <Choices />
          {!some && !later && <GoToCaptures />}
          <WhichMap />
          {!map && waits && <p className="small inferred dim">The map is not there yet: {waits}.</p>}
        </>
      )}
    </div>
  );
}

function Underway({ shown, title }: { shown: Shown; title: string }): ReactNode {
  const { slot, again } = shown.finding;
  const waits = useProof(({ made, opened }) => (opened ? '' : made.waits));
  const waitedShare = useProof(({ made }) => made.share);
  const isOver = slot?.state === 'stopped' || slot?.state === 'failed';
  const share = slot?.state === 'running' ? slot.share : waits ? waitedShare : 0;
  const words = isOver
    ? slot.state === 'stopped'
      ? `It was stopped before the map was held against “${title}”.`
      : `The map could not be held against “${title}”: ${slot.note}.`
    : waits
      ? `The map is held against “${title}” once it is whole: ${waits}.`
      : `Holding the map against “${title}”: ${percent(share)}.`;
  return (
    <div className="past-gutter need proof-unchosen">
      <p role="status">{words}</p>
      {!isOver && (
        <span className="proof-progress" aria-hidden="true">
          <span style={{ width: `${(share * 100).toFixed(1)}%` }} />
        </span>
      )}
      {isOver ? (
        <button type="button" className="button" onClick={again}>
          Try again
        </button>
      ) : (
        <button type="button" className="button" onClick={() => (slot ? slot.stop() : hold(null))}>
          {slot ? 'Stop' : 'Not now'} <kbd>X</kbd>
        </button>
      )}
    </div>
  );
}
