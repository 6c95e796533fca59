/** Where a number stands, and how it is packed there. */
import type { ReactNode } from 'react';
import type { ListedFind } from '../../../../handover/publish/list.ts';
import { displayId } from '../../../../kit/units.ts';
import { plural } from '../../../../kit/sheet-figures.ts';

/** So many are listed before the rest is counted. */
const LISTED = 4;

export function GroupOfPlaces({ listed: { places, packings, length } }: { listed: ListedFind }): ReactNode {
  const more = places.length - LISTED;
  return (
    <p className="small dim publish-places">
      {length > 0 && `${plural(length, 'character')}; `}
      {places.length === 0 && 'in texts alone'}
      {places.slice(0, LISTED).map(({ bus, id, extended, where }, at) => (
        <span key={`${bus} ${id} ${where}`}>
          {at > 0 && '; '}
          <span className="mono">{displayId(Number(id), extended)}</span> {bus}, {where}
        </span>
      ))}
      {more > 0 && `; and ${plural(more, 'more identifier', 'more identifiers')}`}
      {packings.length > 0 && <i>. Packed as {packings.join('; ')}.</i>}
    </p>
  );
}
