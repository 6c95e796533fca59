/** Starts the page: theme, what was saved, the address, then the sheet. */
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import './theme/fonts.ts';
import './theme/tokens.css';
import './theme/base.css';
import './shell/shell.css';
import { startKeys } from './shell/keys.ts';
import { say } from './shell/notices.ts';
import { Shell } from './shell/Shell.tsx';
import { followAddress } from './stores/address.ts';
import { restoreDossier } from './stores/dossier.ts';
import { followDossier } from './stores/follow-dossier.ts';
import { startTheme } from './theme/theme.ts';

startTheme();
startKeys();
// Canvas draws with whatever face is there: the faces come first, from this very place.
await Promise.all([...document.fonts].map((face) => face.load().catch(() => undefined)));
await restoreDossier();
followAddress();
createRoot(document.getElementById('page') as HTMLElement).render(
  <StrictMode>
    <Shell />
  </StrictMode>,
);
void followDossier();

// What is typed in a field is taken when the field is left: leaving the page leaves it too.
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'hidden' && document.activeElement instanceof HTMLElement)
    document.activeElement.blur();
});

// One dossier, one page: two would write over each other. Asked a moment later, for a page that is being reloaded lets go late.
setTimeout(() => {
  void navigator.locks?.request('loomscribe.dossier', { ifAvailable: true }, (lock) => {
    if (lock) return new Promise<void>(() => undefined);
    say(
      'The dossier is open in another window too. Whichever changes it last decides what is kept: close one of them.',
    );
    return undefined;
  });
}, 2000);
