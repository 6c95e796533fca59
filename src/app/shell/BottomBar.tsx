/** On a phone the places stand along the foot, in reach of the thumb. */
import type { ReactNode } from 'react';
import type { PlaceDefinition } from '../places/place.ts';
import { useDossier } from '../stores/dossier.ts';
import { useView } from '../stores/view.ts';

export function BottomBar({
  places,
  onDossier,
}: {
  places: readonly PlaceDefinition[];
  onDossier: () => void;
}): ReactNode {
  const here = useView((view) => view.place);
  const undo = useDossier((state) => state.past.at(-1)?.label);
  return (
    <nav className="bottom-bar" aria-label="Places, at the foot">
      {places.map(({ name, title }) => (
        <button
          key={name}
          type="button"
          aria-current={here === name ? 'page' : undefined}
          onClick={() => useView.getState().go(name)}
        >
          {title}
        </button>
      ))}
      <button
        type="button"
        disabled={!undo}
        aria-label={undo ? `Undo: ${undo}` : 'Undo'}
        onClick={() => useDossier.getState().undo()}
      >
        Undo
      </button>
      <button type="button" onClick={onDossier}>
        Dossier
      </button>
    </nav>
  );
}
