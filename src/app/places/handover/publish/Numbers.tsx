/** The numbers that were found: masked, with where and why, and whether each is written over. */
import type { ReactNode } from 'react';
import { GroupOfPlaces } from './Places.tsx';
import { findRows, KIND_WORDS, toggled, type FindRow } from './finds.ts';
import { usePublish } from './store.ts';

export function Numbers(): ReactNode {
  const finds = usePublish((state) => state.answer?.search.finds);
  const keep = usePublish((state) => state.keep);
  const also = usePublish((state) => state.also);
  if (!finds) return null;
  if (finds.length === 0)
    return (
      <p className="publish-none">
        No number was found. That is no proof that there is none: write those you know of below, and they are looked for
        in every packing.
      </p>
    );
  return (
    <ul className="publish-finds" aria-label="Numbers found">
      {findRows(finds, { keep, also }).map((row) => (
        <li key={row.find.key}>
          <FindLine row={row} />
        </li>
      ))}
    </ul>
  );
}

function decide({ find }: FindRow): void {
  const { keep, also, answer, set } = usePublish.getState();
  set(toggled(find, { keep, also }, answer?.search.finds ?? []));
}

function FindLine({ row }: { row: FindRow }): ReactNode {
  const { find, listed, blanks } = row;
  const shown = usePublish((state) => state.shown === find.key);
  const kind = KIND_WORDS[find.kind];
  return (
    <>
      <div className="publish-head">
        <b>{kind}</b>
        <span className="mono publish-secret">{shown ? find.secret : row.masked}</span>
        {find.secret !== '' && (
          <button
            type="button"
            className="button plain"
            aria-pressed={shown}
            onClick={() => usePublish.getState().set({ shown: shown ? null : find.key })}
          >
            {shown ? 'Hide' : 'Show'}
            <span className="unseen"> {find.key}</span>
          </button>
        )}
        <span className="spring" />
        <span className="switch" role="group" aria-label={`${kind}, ${find.key}`}>
          <button type="button" aria-pressed={blanks} onClick={() => !blanks && decide(row)}>
            blank it
          </button>
          <button type="button" aria-pressed={!blanks} onClick={() => blanks && decide(row)}>
            leave it
          </button>
        </span>
      </div>
      <p className="small inferred">{find.why}</p>
      <GroupOfPlaces listed={listed} />
    </>
  );
}
