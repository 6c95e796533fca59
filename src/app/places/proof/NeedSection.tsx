/** Needs of one verdict: what each lacks, and of the held one the identifiers that it is about. */
import type { ReactNode } from 'react';
import { idNumber } from '../../../map/identifiers.ts';
import type { Identifier, Need } from '../../../proof/suffices/types.ts';
import { useView } from '../../stores/view.ts';
import { sentence } from '../../words/sentence.ts';
import { NeedGlyph } from './Glyphs.tsx';
import { NEED_WORDS, needTitle, type NeedRow, type NeedSection as Needs } from './needs.ts';
import { useProof } from './store.ts';

export const needId = (key: string): string => `need ${key}`;

export function toggleMet(): void {
  const { met, set } = useProof.getState();
  set({ met: !met });
}

export function NeedSection({
  section,
  held,
  first,
  folded,
}: {
  section: Needs;
  held: NeedRow | null;
  first: NeedRow | null;
  folded: boolean;
}): ReactNode {
  const { verdict, rows } = section;
  return (
    <section className="proof-section" aria-label={NEED_WORDS[verdict]}>
      <h3>
        <NeedGlyph verdict={verdict} /> {NEED_WORDS[verdict]}{' '}
        <small>{rows.reduce((sum, { needs }) => sum + needs.length, 0)}</small>
      </h3>
      <ul>
        {verdict === 'enough' && (
          <li>
            <button type="button" className="button plain proof-met" aria-expanded={!folded} onClick={toggleMet}>
              {folded ? 'Show what is enough' : 'Fold what is enough'} <kbd>E</kbd>
            </button>
          </li>
        )}
        {(folded ? [] : rows).map((row) => (
          <li key={row.key} className={row === held ? 'held-line' : ''}>
            <button
              type="button"
              id={needId(row.key)}
              className="proof-need"
              aria-pressed={row === held}
              tabIndex={row === held || (!held && row === first) ? 0 : -1}
              onClick={() => useProof.getState().set({ need: row.key })}
            >
              <b>{row.title}</b>
              <span>{sentence(row.says)}</span>
            </button>
            {row === held && <More row={row} />}
          </li>
        ))}
      </ul>
    </section>
  );
}

const placesOf = ({ at, identifiers = [] }: Need): readonly Identifier[] => (at ? [at] : identifiers);

/** Each of a folded row, and the way to the identifiers that a need is about. */
function More({ row }: { row: NeedRow }): ReactNode {
  const placed = row.needs.filter((need) => placesOf(need).length > 0);
  if (placed.length === 0) return null;
  return (
    <ul className="proof-more">
      {placed.map((need) => (
        <li key={need.key}>
          {placesOf(need).map((place) => (
            <button
              key={`${place.bus} ${place.id} ${place.extended}`}
              type="button"
              className="button plain"
              onClick={() => see(place)}
            >
              <span className="mono">{place.id}</span>
              <span className="unseen"> on {place.bus}, in Payloads</span>
            </button>
          ))}{' '}
          <span className="small dim">{row.needs.length > 1 ? `${needTitle(need)}: ${need.says}` : 'in Payloads'}</span>
        </li>
      ))}
    </ul>
  );
}

function see({ bus, id, extended }: Identifier): void {
  useView.getState().select({ stream: { bus, id: idNumber(id), extended, direction: 'received' } });
  useView.getState().go('payloads');
}
