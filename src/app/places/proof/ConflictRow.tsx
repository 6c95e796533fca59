/** One conflict: where it is, both versions side by side, and whose is in force. */
import type { ReactNode } from 'react';
import { placeWords } from '../../../fields/place-words.ts';
import type { Placement } from '../../../frames/bits.ts';
import { idNumber } from '../../../map/identifiers.ts';
import type { Side } from '../../../proof/merge/types.ts';
import { displayId } from '../../../kit/units.ts';
import { sentence } from '../../words/sentence.ts';
import { differencesOf, usualChoice, type Choice, type Claim, type Conflict } from './agree.ts';
import { choiceOf, choose } from './agreeing.ts';
import { itemTitle, itemWords } from './rows.ts';
import { useProof } from './store.ts';

export const conflictId = (key: string): string => `conflict ${key}`;

const CHOICE_WORDS: Readonly<Record<Choice, string>> = { first: 'mine', second: 'theirs', open: 'both, disputed' };
const SIDES: readonly Side[] = ['first', 'second'];

interface ConflictRowProps {
  readonly conflict: Conflict;
  readonly held: boolean;
  readonly reachable: boolean;
}

export function ConflictRow({ conflict, held, reachable }: ConflictRowProps): ReactNode {
  const { item, key } = conflict;
  const where = item.frame ? displayId(idNumber(item.frame.id), item.frame.extended) : 'the map';
  return (
    <li className={held ? 'held-line' : ''}>
      <button
        type="button"
        id={conflictId(key)}
        className="proof-conflict"
        aria-pressed={held}
        tabIndex={reachable ? 0 : -1}
        onClick={() => useProof.getState().set({ conflict: key })}
      >
        <span className="mono">{where}</span>{' '}
        <b>{item.item === 'map' ? item.name : itemTitle(item.item, item.name, item.frame?.name)}</b>
        <span className="small dim">
          {sentence(item.detail.replaceAll('the first', 'mine').replaceAll('the second', 'theirs'))}
        </span>
      </button>
      <Versions conflict={conflict} />
      <ChoiceSwitch conflict={conflict} />
    </li>
  );
}

function Versions({ conflict: { item, first, second } }: { conflict: Conflict }): ReactNode {
  const single = first.length <= 1 && second.length <= 1;
  if (!single)
    return (
      <div className="proof-versions">
        {[first, second].map((claims, side) => (
          <ul key={SIDES[side]} aria-label={side === 0 ? 'mine' : 'theirs'}>
            {claims.map((claim, at) => (
              <li key={at}>{claimWords(claim)}</li>
            ))}
          </ul>
        ))}
      </div>
    );
  const one = (version: unknown): unknown => (Array.isArray(version) ? version[0] : version);
  const rows = differencesOf(one(item.first), one(item.second));
  return (
    <table className="list proof-differences">
      <colgroup>
        <col className="proof-what" />
        <col />
        <col />
      </colgroup>
      <thead className="unseen">
        <tr>
          <th>what</th>
          <th>mine</th>
          <th>theirs</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ name, first: mine, second: theirs }) => (
          <tr key={name}>
            <td className="dim">{name === 'value' ? itemWords(item.item) : name}</td>
            <td>{mine}</td>
            <td>{theirs}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const claimWords = (claim: Claim): string =>
  `${claim.name ? `${claim.name}, ` : ''}${placeWords(claim as Placement)}, ${claim.order} endian`;

function ChoiceSwitch({ conflict }: { conflict: Conflict }): ReactNode {
  const choices = useProof((state) => state.choices);
  const chosen = choiceOf(conflict, choices);
  if (!conflict.section)
    return (
      <p className="small dim proof-choice">
        {conflict.item.kept === 'second' ? 'Theirs' : 'Yours'} is in force, the other is kept beside it.
      </p>
    );
  const offered: readonly Choice[] = usualChoice(conflict) === 'open' ? ['first', 'second', 'open'] : SIDES;
  return (
    <span className="switch proof-choice" role="group" aria-label={`In force of ${conflict.item.name}`}>
      {offered.map((choice) => (
        <button key={choice} type="button" aria-pressed={choice === chosen} onClick={() => choose(conflict, choice)}>
          {CHOICE_WORDS[choice]}
        </button>
      ))}
    </span>
  );
}
