/** The window: rail, head, the place that is open with its panel, ruler; and the keys that work everywhere. */
import { useEffect, useMemo, useState, type ReactNode } from 'react';
import type { PlaceDefinition } from '../places/place.ts';
import { PLACES } from '../places/registry.ts';
import { useDossier } from '../stores/dossier.ts';
import { useFoundSurvey } from '../stores/asking.ts';
import { LookedAt, useCurrentCapture } from '../stores/finding.ts';
import { useNotedLetters } from '../stores/senders.ts';
import { developing } from '../stores/questions.ts';
import { useView } from '../stores/view.ts';
import { BottomBar } from './BottomBar.tsx';
import { DossierDialog } from './DossierDialog.tsx';
import { DevPanel } from './DevPanel.tsx';
import { DropCover } from './DropCover.tsx';
import { useKeys, type KeyGroup } from './keys.ts';
import { Logo } from './Logo.tsx';
import { KeysHelp } from './KeysHelp.tsx';
import { Notice } from './Notice.tsx';
import { Rail } from './Rail.tsx';
import { Ruler } from './Ruler.tsx';
import { timeScale } from './time-scale.ts';
import { useDomain } from './use-domain.ts';
import { useTimeWidth } from './use-time-width.ts';

export function Shell(): ReactNode {
  const [open, setOpen] = useState<'keys' | 'dossier' | null>(null);
  const name = useView((view) => view.place);
  const place = PLACES.find((other) => other.name === name) ?? (PLACES[0] as PlaceDefinition);
  const looksAt = useView((view) => place.looksAt?.(view) ?? null);
  useTimeWidth();
  useNotedLetters(useCurrentCapture()?.entry, useFoundSurvey().value);
  useShellKeys(() => setOpen((now) => (now === 'keys' ? null : 'keys')));
  useEffect(() => {
    document.title = `${place.title} · Loomscribe`;
  }, [place]);
  const close = (): void => setOpen(null);
  return (
    <div className={`shell ${place.showsTime ? '' : 'timeless'}`}>
      <Rail places={PLACES} onDossier={() => setOpen('dossier')} />
      <LookedAt value={looksAt}>
        <FollowDomain />
        <Head place={place} />
        <PlaceView place={place} />
        {place.showsTime && <Ruler />}
      </LookedAt>
      <BottomBar places={PLACES} onDossier={() => setOpen('dossier')} />
      {open === 'keys' && <KeysHelp onClose={close} />}
      {open === 'dossier' && <DossierDialog onClose={close} />}
      <Notice />
      {developing && <DevPanel />}
      <DropCover />
    </div>
  );
}

/** Of the capture in view, which the place may have chosen. */
function FollowDomain(): null {
  useDomain();
  return null;
}

function Head({ place }: { place: PlaceDefinition }): ReactNode {
  const { Controls, Panel } = place;
  const drawer = useView((view) => view.drawer);
  return (
    <header className="head">
      <span className="head-logo">
        <Logo />
      </span>
      <h1>{place.title}</h1>
      <span className="question">{place.question}</span>
      <div className="controls">
        {Controls && <Controls />}
        {Panel && (
          <button
            type="button"
            className="button drawer-toggle"
            aria-expanded={drawer}
            aria-controls="panel"
            onClick={() => useView.getState().setDrawer(!drawer)}
          >
            {drawer ? 'Close' : 'Reasons'} <kbd>B</kbd>
          </button>
        )}
      </div>
    </header>
  );
}

function PlaceView({ place }: { place: PlaceDefinition }): ReactNode {
  const drawer = useView((view) => view.drawer);
  const { Place, Panel } = place;
  return (
    <div className={`place place-${place.name}`}>
      <main className="place-scroll" aria-label={place.title}>
        <h2 className="unseen">{place.title}, drawn</h2>
        <div className="place-inner">
          <Place />
        </div>
      </main>
      {Panel && (
        <aside id="panel" className={`panel ${drawer ? 'open' : ''}`} aria-label={`${place.title}: reasons`}>
          <h2 className="unseen">{place.title}, in words</h2>
          <Panel />
        </aside>
      )}
    </div>
  );
}

/** Arrows step the cursor by a hundredth of the view, with Shift by a tenth. */
function step(share: number): void {
  const view = useView.getState();
  const { fromS, toS } = view.window;
  const from = view.cursorS ?? (fromS + toS) / 2;
  view.setCursor(from + share * (toS - fromS));
  view.reveal(useView.getState().cursorS ?? from);
}

function useShellKeys(toggleHelp: () => void): void {
  const group = useMemo<KeyGroup>(() => {
    const view = useView.getState;
    const history = useDossier.getState;
    return {
      title: 'Everywhere',
      bindings: [
        ...PLACES.map((place, index) => ({
          key: String(index + 1),
          says: place.title,
          run: () => view().go(place.name),
        })),
        { key: 'ArrowLeft', says: 'step the cursor back', run: () => step(-0.01) },
        { key: 'ArrowRight', says: 'step the cursor on', run: () => step(0.01) },
        { key: 'Shift+ArrowLeft', says: 'ten steps back', run: () => step(-0.1) },
        { key: 'Shift+ArrowRight', says: 'ten steps on', run: () => step(0.1) },
        { key: '+', says: 'zoom in', run: () => view().zoom(1 / 1.5) },
        { key: '=', says: '', run: () => view().zoom(1 / 1.5) },
        { key: '-', says: 'zoom out', run: () => view().zoom(1.5) },
        { key: '0', says: 'all of it', run: () => view().all() },
        { key: 'PageUp', says: 'move the view back', run: () => view().pan(-viewLength() * 0.8) },
        { key: 'PageDown', says: 'move the view on', run: () => view().pan(viewLength() * 0.8) },
        {
          key: 'b',
          says: 'open or close the reasons, on a narrow window',
          run: () => view().setDrawer(!view().drawer),
        },
        { key: 'Ctrl+z', says: 'undo', run: () => history().undo() },
        { key: 'Ctrl+Shift+z', says: 'redo as well', run: () => history().redo() },
        { key: 'Ctrl+Shift+Z', says: '', run: () => history().redo() },
        { key: 'Ctrl+y', says: 'redo', run: () => history().redo() },
        { key: '?', says: 'this list', run: toggleHelp },
      ],
    };
  }, [toggleHelp]);
  useKeys(group);
}
const viewLength = (): number => {
  const { window, timeWidth } = useView.getState();
  const scale = timeScale(window, timeWidth);
  return scale.toS - scale.fromS;
};
