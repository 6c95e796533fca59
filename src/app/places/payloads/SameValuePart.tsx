/** Beside the field held: which other fields show the same value, one click to each, and its trace laid over this one's. */
import type { ReactNode } from 'react';
import { plural } from '../../../kit/sheet-figures.ts';
import type { Held } from './held.ts';
import { goTo, toggleOverlay, useSameValuesOf, type Companion } from './same-values.ts';
import { usePayloads } from './store.ts';

export function SameValuePart({ held }: { held: Held }): ReactNode {
  const { companions, isSource, unlisted } = useSameValuesOf(held);
  const overlaid = usePayloads((state) => state.overlaid);
  if (companions.length === 0) return null;
  return (
    <section className="panel-part payloads-same">
      <h3>
        The same value elsewhere{' '}
        <small>{isSource ? `first of ${companions.length + unlisted + 1}` : 'this one is a copy'}</small>
      </h3>
      <ul>
        {companions.map((companion) => (
          <SameValueRow
            key={companion.key}
            companion={companion}
            isSource={isSource}
            laid={companion.key === overlaid}
          />
        ))}
      </ul>
      {unlisted > 0 && <p className="dim small">and {plural(unlisted, 'more field')}, each of which names this one</p>}
    </section>
  );
}

interface RowProps {
  readonly companion: Companion;
  readonly isSource: boolean;
  readonly laid: boolean;
}

function SameValueRow({ companion, isSource, laid }: RowProps): ReactNode {
  const { name, words, request } = companion;
  return (
    <li>
      <span className="payloads-same-head">
        <button type="button" className="button plain mono" onClick={() => goTo(companion)}>
          {name}
        </button>
        {request && (
          <button type="button" className="button" aria-pressed={laid} onClick={() => toggleOverlay(companion)}>
            {laid ? 'Take its trace off' : 'Lay its trace over'}
          </button>
        )}
      </span>
      <p className="inferred dim small">
        {isSource ? 'It is ' : 'This is '}
        {words}.
      </p>
    </li>
  );
}
