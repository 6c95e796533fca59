/** The rail: the places in the order of the job with a line each on how they stand, and the title block at its foot. */
import type { ReactNode } from 'react';
import type { PlaceDefinition } from '../places/place.ts';
import { useDossier } from '../stores/dossier.ts';
import { useView } from '../stores/view.ts';
import { useTheme } from '../theme/theme.ts';
import { wallClock } from '../words/wall-clock.ts';
import { Logo } from './Logo.tsx';

export function Rail({ places, onDossier }: { places: readonly PlaceDefinition[]; onDossier: () => void }): ReactNode {
  return (
    <nav className="rail" aria-label="Places">
      <div className="brand">
        <Logo />
        Loomscribe
        <span className="spring" />
        <ThemeSwitch />
      </div>
      <ol>
        {places.map((place, index) => (
          <li key={place.name}>
            <RailItem place={place} number={index + 1} />
          </li>
        ))}
      </ol>
      <TitleBlock onOpen={onDossier} />
    </nav>
  );
}

function RailItem({ place, number }: { place: PlaceDefinition; number: number }): ReactNode {
  const here = useView((view) => view.place === place.name);
  const line = place.useLine();
  return (
    <button
      type="button"
      className="rail-item"
      aria-current={here ? 'page' : undefined}
      aria-keyshortcuts={String(number)}
      title={line.length > 24 ? line : undefined}
      onClick={() => useView.getState().go(place.name)}
    >
      <span className="number" aria-hidden="true">
        {number}
      </span>
      <b>{place.title}</b>
      <span className="state">{line}</span>
    </button>
  );
}

function ThemeSwitch(): ReactNode {
  const { choose, choice } = useTheme();
  const night = choice === 'night' || (choice === 'system' && document.documentElement.dataset['theme'] === 'night');
  const words = night ? 'Change to paper' : 'Change to night';
  return (
    <button
      type="button"
      className="theme-switch"
      aria-label={words}
      title={words}
      onClick={() => choose(night ? 'paper' : 'night')}
    >
      <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
        <circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" strokeWidth="1.5" />
        <path d="M8 2a6 6 0 0 1 0 12z" fill="currentColor" />
      </svg>
    </button>
  );
}

function TitleBlock({ onOpen }: { onOpen: () => void }): ReactNode {
  const { part } = useDossier(({ dossier }) => dossier);
  const { savedAt, saveProblem } = useDossier();
  const saved = savedAt === null ? 'nothing to save yet' : `saved ${wallClock(savedAt)}, on this machine`;
  return (
    <button type="button" className="title-block" onClick={onOpen}>
      <Line name="Part" value={part.title} none="not named yet" />
      <Line name="Donor" value={part.donor} none="not said yet" />
      <Line name="For" value={part.destination} none="not said yet" />
      <Line name="Dossier" value={saveProblem ?? saved} none="" />
    </button>
  );
}

function Line({ name, value, none }: { name: string; value: string; none: string }): ReactNode {
  return (
    <span>
      <small>{name}</small>
      {value || <i className="dim">{none}</i>}
    </span>
  );
}
