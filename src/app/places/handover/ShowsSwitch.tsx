/** Drawn, or as the files have it. */
import type { ReactNode } from 'react';
import { useHandover } from './store.ts';

const SHOWS = ['drawn', 'text'] as const;

export function ShowsSwitch(): ReactNode {
  const shows = useHandover((state) => state.shows);
  return (
    <span className="switch" role="group" aria-label="Shown">
      {SHOWS.map((choice) => (
        <button
          key={choice}
          type="button"
          aria-pressed={shows === choice}
          onClick={() => useHandover.getState().set({ shows: choice })}
        >
          {choice === 'drawn' ? 'drawn' : 'as text'} {shows !== choice && <kbd>V</kbd>}
        </button>
      ))}
    </span>
  );
}
