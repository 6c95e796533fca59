/** What became of each sender, a line each: mark, letter, words. */
import type { ReactNode } from 'react';
import type { StreamKey } from '../../frames/table.ts';
import type { ComparedFrame } from '../../proof/compare/types.ts';
import { shownId, type Fate } from './fates.ts';
import { FateMark, type ThreadFate } from './glyphs.tsx';
import { GroupTag } from '../shell/GroupTag.tsx';

export type OnHold = (stream: StreamKey) => void;

const MARK: Readonly<Record<Fate['kind'], ThreadFate>> = {
  silent: 'silent',
  'partly silent': 'silent',
  reacts: 'reacts',
  stays: 'stays',
};

/** One line a group; those that all stay share one. */
export function Fates({ fates, onHold }: { fates: readonly Fate[]; onHold: OnHold | undefined }): ReactNode {
  const staying = fates.filter(({ kind }) => kind === 'stays');
  return (
    <ul className="fates" aria-label="What became of each sender">
      {fates
        .filter(({ kind }) => kind !== 'stays')
        .map((fate) => (
          <li key={fate.group ?? ''}>
            <FateMark fate={MARK[fate.kind]} />
            {fate.group ? <GroupTag group={fate.group} /> : <span className="group-tag none" title="no sender" />}
            <FateWords fate={fate} onHold={onHold} />
            <span className="fate-aside">{fate.aside}</span>
          </li>
        ))}
      {staying.length > 0 && (
        <li>
          <FateMark fate="stays" />
          <span className="fate-staying">
            {staying.map(({ group }) => group && <GroupTag key={group} group={group} />)}
          </span>
          <span>all stay</span>
        </li>
      )}
    </ul>
  );
}

const streamOf = ({ bus, id, extended }: ComparedFrame): StreamKey => ({
  bus,
  id: Number(id),
  extended,
  direction: 'received',
});

/** Where one identifier alone is meant, it can be held. */
function FateWords({ fate, onHold }: { fate: Fate; onHold: OnHold | undefined }): ReactNode {
  const [only, ...more] = fate.frames;
  const words = fate.group === null ? `${fate.words}, no sender known` : fate.words;
  if (!only || more.length > 0 || !onHold) return <span>{words}</span>;
  const id = shownId(only);
  const [before = '', after = ''] = words.split(id);
  return (
    <span>
      {before}
      <button type="button" className="button plain fate-id mono" onClick={() => onHold(streamOf(only))}>
        {id}
      </button>
      {after}
    </span>
  );
}
